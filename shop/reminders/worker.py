"""The worker without a broker: one child process that keeps the schedule."""

from __future__ import annotations

import logging
import threading

from django.conf import settings
from django.db import close_old_connections

from shop.instruments import asking
from shop.reminders import periodic

log = logging.getLogger(__name__)
# Somebody with a probe in the hand waits for it.
_QUICK_SECONDS = 0.5


def run_once(stop: threading.Event | None = None) -> None:
    """Run everything that is scheduled; what fails is logged and tried again next round.

    Told to stop, it finishes the task that runs and begins no other.
    """
    for name in periodic.PERIODIC_TASKS:
        if stop is not None and stop.is_set():
            return
        try:
            periodic.run(name)
        except Exception:
            log.exception("%s failed; next try in the next round", name)
        finally:
            close_old_connections()


def keep(stop: threading.Event) -> None:
    """Run the schedule until told to stop; beside it, what somebody waits for at the bench."""
    threading.Thread(target=_keep_answering, args=(stop,), daemon=True).start()
    while not stop.is_set():
        run_once(stop)
        stop.wait(settings.WATCH_SECONDS)


def _keep_answering(stop: threading.Event) -> None:
    """Ask instruments as soon as somebody wants a reading: a round would be too late."""
    while not stop.wait(_QUICK_SECONDS):
        try:
            if asking.waiting():
                periodic.run(asking.TASK)
        except Exception:
            log.exception("%s failed; next try at once", asking.TASK)
        finally:
            close_old_connections()
