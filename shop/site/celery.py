"""The Celery application: `celery -A shop.site.celery worker` and `beat`."""

import os
import signal
import sys

from celery import Celery, signals

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.site.settings")

app = Celery("benchtag")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks(["shop.reminders"])


@signals.worker_init.connect
def require_sound(**_: object) -> None:
    """End the worker with a sentence when the database does not guard itself."""
    from shop.site import start  # noqa: PLC0415 - it needs models, which come later

    start.require_sound()


@signals.beat_init.connect
def end_beat_once(**_: object) -> None:
    """Let a signal end the beat by leaving its loop, which saves the schedule on the way out.

    The handler that comes with it saves in the midst of whatever the signal interrupts, and then
    once more: a signal that lands in a save may leave the second one with a closed file.
    """
    for name in (signal.SIGTERM, signal.SIGINT):
        signal.signal(name, lambda *_: sys.exit(0))
