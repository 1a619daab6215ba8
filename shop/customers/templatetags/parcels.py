"""Parcels in templates: who carries them, and where one is followed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import template

from shop.customers import carriers
from shop.customers.announced.models import Announcement

register = template.Library()


@register.simple_tag
def carrier_names() -> list[str]:
    """Return the names of the shop's carriers."""
    return carriers.names()


@register.filter
def followed(parcel: Mapping[str, Any]) -> str:
    """Return the address that follows a parcel with `carrier` and `tracking`; empty for none."""
    return carriers.follow(str(parcel.get("carrier", "")), str(parcel.get("tracking", "")))


@register.filter
def coming(announcement: Announcement) -> str:
    """Return the address that follows a parcel that is on its way; empty for none."""
    return carriers.follow(announcement.carrier, announcement.tracking)
