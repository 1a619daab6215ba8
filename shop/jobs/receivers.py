"""What jobs do when something below them changes."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.dispatch import receiver

from shop.jobs import commands
from shop.preferences.signals import settings_changed


@receiver(settings_changed)
def follow_settings(*, names: list[str], at: datetime, **kwargs: Any) -> None:
    """Look at units with mains anew, in the transaction of the change."""
    commands.follow_settings(names, at=at)
