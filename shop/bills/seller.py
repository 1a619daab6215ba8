"""Who bills: what the settings say of the shop, and what of it a bill cannot do without."""

from __future__ import annotations

from dataclasses import dataclass

from shop.lib.addresses import needs_post_code
from shop.preferences import current as preferences

# EN 16931-1, BT-27, 35, 37, 38, 40, and 31 or 32: without them no bill is issued.
NEEDED = ("shop_name", "postal_address", "post_code", "city", "country", "tax_number")


@dataclass(frozen=True, kw_only=True)
class Seller:
    """The shop as it stands on a bill."""

    seller_name: str
    seller_address: str
    seller_post_code: str
    seller_city: str
    seller_country: str
    seller_telephone: str
    seller_email: str
    seller_tax_number: str
    seller_iban: str
    seller_bic: str
    terms: str


def seller() -> Seller:
    """Return the shop as it is now."""
    return Seller(
        seller_name=preferences.value("shop_name")[:200],
        seller_address=preferences.value("postal_address"),
        seller_post_code=preferences.value("post_code")[:20],
        seller_city=preferences.value("city")[:100],
        seller_country=preferences.value("country"),
        seller_telephone=preferences.value("telephone")[:60],
        seller_email=preferences.value("email")[:254],
        seller_tax_number=preferences.value("tax_number").replace(" ", "")[:40],
        seller_iban=preferences.value("iban"),
        seller_bic=preferences.value("bic"),
        terms=preferences.value("terms"),
    )


def missing() -> list[str]:
    """Return the titles of the settings that a bill waits for."""
    needed = [name for name in NEEDED if name != "post_code" or _has_post_code()]
    return [one.title for name in needed if _is_unset(one := preferences.in_force(name))]


def _has_post_code() -> bool:
    return needs_post_code(preferences.value("country"))


def _is_unset(one: preferences.InForce) -> bool:
    return one.source == "default" or not str(one.value).strip()
