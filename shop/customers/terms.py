"""The terms under which a unit is taken in, as customers read them before it is looked at."""

from __future__ import annotations

from django.utils.translation import gettext as _

from shop.lib.money import formatted
from shop.preferences import current as preferences


def lines() -> list[str]:
    """Return what looking at a unit costs, where it costs anything, and the shop's own terms."""
    fee = preferences.value("inspection_fee")
    costs = formatted(fee, preferences.value("currency")) if fee else ""
    words = _("When a unit goes back unrepaired, the inspection costs {sum} without tax.")
    looked_at = [words.format(sum=costs)] if costs else []
    return [*looked_at, *preferences.value("terms").splitlines()]
