"""Postal addresses in parts, as electronic invoices want them, and line by line, as people read them."""

from __future__ import annotations

from dataclasses import dataclass

from babel import Locale

from shop.preferences import current as preferences

# Where the post code stands behind the town, by common practice; elsewhere it stands in front.
_CODE_BEHIND = frozenset(["AU", "CA", "GB", "IE", "IN", "NZ", "SG", "US", "ZA"])
# Without post codes, from memory.
_NO_CODES = frozenset(["AE", "AG", "AO", "BS", "HK", "QA", "ZW"])


@dataclass(frozen=True, kw_only=True)
class Address:
    """Street and whatever else stands above the town, post code, town, country by its two letters.

    One that was written in a single text before holds the town in `street`, and no parts.
    """

    street: str = ""
    post_code: str = ""
    city: str = ""
    country: str = ""

    @property
    def street_lines(self) -> list[str]:
        """What stands above the town; a text of one line is parted at its commas.

        A line that says the town again is left out: shops wrote both into one text before.
        """
        parts = self.street.splitlines()
        if len(parts) == 1:
            parts = self.street.split(",")
        lines = [part.strip() for part in parts if part.strip()]
        return [line for line in lines if not self._is_town(line)]

    def _is_town(self, line: str) -> bool:
        words = {self.post_code.casefold(), self.city.casefold()} - {""}
        return (
            bool(self.city)
            and all(word in line.casefold() for word in words)
            and (len(line) <= len(self.post_code) + len(self.city) + 4)
        )

    @property
    def town(self) -> str:
        """Post code and town in the order of the country."""
        parts = [self.post_code, self.city]
        if self.country in _CODE_BEHIND:
            parts.reverse()
        return " ".join(filter(None, parts))

    def lines(self, *, seen_from: str = "") -> list[str]:
        """Return it line by line; the country is named where it is another than `seen_from`."""
        abroad = self.country not in ("", seen_from)
        named = Locale("en").territories.get(self.country, self.country) if abroad else ""
        return [line for line in (*self.street_lines, self.town, named.upper()) if line]


def needs_post_code(country: str) -> bool:
    """Whether an address there has one."""
    return country not in _NO_CODES


def of_shop() -> Address:
    """Return the address of the shop as it is set."""
    return Address(
        street=preferences.value("postal_address"),
        post_code=preferences.value("post_code"),
        city=preferences.value("city"),
        country=preferences.value("country"),
    )


def of_shop_on_one_line() -> str:
    """Return it for the head of papers and pages: '4 Tin Lane, 12345 Ostmere'."""
    shop = of_shop()
    return ", ".join(shop.lines(seen_from=shop.country))
