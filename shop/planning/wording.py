"""What lists and reminders say of the same thing, in the same words."""

from __future__ import annotations

from datetime import date

from shop.lib.phrases import counted

PARTS_HERE = "its parts are here"


def days_late(expected_on: date, today: date) -> str:
    """Return '1 day late', '3 days late' for a day that has passed."""
    return f"{counted((today - expected_on).days, 'day')} late"
