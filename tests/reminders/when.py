"""Moments of the shop for tests, in its own time zone."""

from __future__ import annotations

from datetime import datetime
from zoneinfo import ZoneInfo

LONDON = ZoneInfo("Europe/London")


def at(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=LONDON)
