"""Webhooks."""

from datetime import datetime

from django.apps import AppConfig

from shop.reminders.further_tasks import FURTHER_TASKS


class WebhooksConfig(AppConfig):
    """Settings of the app."""

    name = "shop.webhooks"
    label = "webhooks"

    def ready(self) -> None:
        """Let the worker send what is due."""
        FURTHER_TASKS["send-webhooks"] = _send


def _send(*, now: datetime) -> int:
    from shop.webhooks import finding, sending  # noqa: PLC0415 - nothing that starts waits for it

    finding.queue_due(now=now)
    return sending.deliver(now=now)
