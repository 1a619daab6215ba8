"""The worker without a broker: one child process that keeps the schedule."""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Collection

from django.conf import settings
from django.db import DatabaseError, close_old_connections

from shop.instruments import asking
from shop.meters import soak_logs
from shop.reminders import periodic

log = logging.getLogger(__name__)
# An instrument that does not answer takes half a minute. Reminders about mains wait for none.
_AT_INSTRUMENTS = (asking.TASK, soak_logs.TASK)
# Somebody with a probe in the hand waits for it.
_QUICK_SECONDS, _STOP_SECONDS = 0.5, 2.0


def run_once(stop: threading.Event | None = None, *, but: Collection[str] = ()) -> None:
    """Run everything that is scheduled; what fails is logged and tried again next round.

    Told to stop, it finishes the task that runs and begins no other. `but`: tasks left out.
    """
    for name in periodic.PERIODIC_TASKS:
        if stop is not None and stop.is_set():
            return
        if name not in but:
            _run(name)


def _run(name: str) -> None:
    try:
        periodic.run(name)
    except Exception:
        log.exception("%s failed; next try in the next round", name)
    finally:
        close_old_connections()


def keep(stop: threading.Event) -> None:
    """Run the schedule until told to stop; what talks to instruments has a thread of its own."""
    beside = threading.Thread(target=_keep_at_instruments, args=(stop,), daemon=True)
    beside.start()
    while not stop.is_set():
        run_once(stop, but=_AT_INSTRUMENTS)
        stop.wait(settings.WATCH_SECONDS)
    # What hangs is left behind; it ends with the process.
    beside.join(_STOP_SECONDS)


def _keep_at_instruments(stop: threading.Event) -> None:
    """Answer as soon as somebody wants a reading; log soaks in rounds."""
    next_round = 0.0
    while not stop.wait(_QUICK_SECONDS):
        due = time.monotonic() >= next_round
        if due:
            next_round = time.monotonic() + settings.WATCH_SECONDS
        for name in _AT_INSTRUMENTS:
            if stop.is_set():
                return
            if name in periodic.PERIODIC_TASKS and (due or _wanted(name)):
                _run(name)


def _wanted(name: str) -> bool:
    """Whether somebody waits for it; a database that does not answer is asked again soon."""
    try:
        return name == asking.TASK and asking.waiting()
    except DatabaseError:
        return False
    finally:
        close_old_connections()
