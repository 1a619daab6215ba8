"""What lists and reminders say of the same thing, in the same words."""

from __future__ import annotations

from datetime import date

from django.utils.translation import ngettext

from checklists.engine.figures import grouped


def days_late(expected_on: date, today: date) -> str:
    """Return '1 day late', '3 days late' for a day that has passed."""
    days = (today - expected_on).days
    return ngettext("{days} day late", "{days} days late", days).format(days=grouped(days))
