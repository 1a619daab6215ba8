"""The worker without a broker: one child process that keeps the schedule."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable

from django.conf import settings
from django.db import close_old_connections
from django.utils import timezone

from shop.watch import editions, stalled

log = logging.getLogger(__name__)

ROUND: tuple[Callable[..., int], ...] = (editions.follow, stalled.remind)


def run_once() -> None:
    """Run everything that is scheduled; what fails is logged and tried again next round."""
    for duty in ROUND:
        try:
            duty(now=timezone.now())
        except Exception:
            log.exception("%s failed; next try in the next round", duty.__qualname__)
        finally:
            close_old_connections()


def keep(stop: threading.Event) -> None:
    """Run the schedule until told to stop."""
    while not stop.is_set():
        run_once()
        stop.wait(settings.WATCH_SECONDS)
