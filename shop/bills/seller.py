"""Who bills: what the settings say of the shop, and what of it a bill cannot do without."""

from __future__ import annotations

from dataclasses import dataclass

from shop.preferences import current as preferences

# EN 16931-1, BT-27, BG-5, BT-40, BT-31 or BT-32: without them no bill is issued.
NEEDED = ("shop_name", "postal_address", "country", "tax_number")


@dataclass(frozen=True, kw_only=True)
class Seller:
    """The shop as it stands on a bill."""

    seller_name: str
    seller_address: str
    seller_country: str
    seller_telephone: str
    seller_email: str
    seller_tax_number: str
    seller_iban: str
    seller_bic: str
    untaxed_because: str


def seller() -> Seller:
    """Return the shop as it is now."""
    return Seller(
        seller_name=preferences.value("shop_name")[:200],
        seller_address=preferences.value("postal_address"),
        seller_country=preferences.value("country"),
        seller_telephone=preferences.value("telephone")[:60],
        seller_email=preferences.value("email")[:254],
        seller_tax_number=preferences.value("tax_number").replace(" ", "")[:40],
        seller_iban=preferences.value("iban"),
        seller_bic=preferences.value("bic"),
        untaxed_because=preferences.value("untaxed_because")[:500],
    )


def missing() -> list[str]:
    """Return the titles of the settings that a bill waits for."""
    return [one.setting.title for name in NEEDED if _is_unset(one := preferences.in_force(name))]


def _is_unset(one: preferences.InForce) -> bool:
    return one.source == "default" or not str(one.value).strip()
