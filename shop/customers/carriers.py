"""Who carries parcels: the shop's own few, and the address that follows a parcel."""

from __future__ import annotations

from urllib.parse import quote

from shop.preferences import current as preferences


def names() -> list[str]:
    """Return the names of the shop's carriers, in their order."""
    return [one.name for one in preferences.value("carriers")]


def follow(carrier: str, number: str) -> str:
    """Return the address that follows a parcel; empty without a number or for another carrier."""
    named = carrier.strip().casefold()
    for one in preferences.value("carriers"):
        if number.strip() and one.name.casefold() == named:
            return str(one.pattern.replace("{number}", quote(number.strip(), safe="")))
    return ""
