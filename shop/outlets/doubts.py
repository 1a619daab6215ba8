"""What ends the holding of enables: any doubt about what it rests on."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from typing import Any

from django.db import connection


class Doubt(Exception):
    """Enables are not held any more; the message is a sentence."""


# Goes on while the machine sleeps, where the system has such a clock.
_CLOCK = getattr(time, "CLOCK_BOOTTIME", time.CLOCK_MONOTONIC)
MOST_JUMP_SECONDS = 0.5


def elapsed() -> float:
    """Return seconds of a clock that nobody sets."""
    return time.clock_gettime(_CLOCK)


class SteadyClock:
    """Notices when the clock of the machine is set: times of before and after cannot be compared."""

    def __init__(self, wall: Callable[[], float] = time.time) -> None:
        self._wall = wall
        self._apart = wall() - elapsed()

    def check(self) -> None:
        """Raise Doubt when the clock has jumped since the last look."""
        apart = self._wall() - elapsed()
        jump, self._apart = apart - self._apart, apart
        if abs(jump) > MOST_JUMP_SECONDS:
            raise Doubt(f"The clock of this machine has jumped by {jump:+.1f} s.")


class SameFile:
    """Notices when the file of the database is another one: an open one is read on, and is stale."""

    def __init__(self) -> None:
        self._first = self._now()

    def check(self) -> None:
        """Raise Doubt when the file is gone or was replaced."""
        if self._now() != self._first:
            raise Doubt("The file of the database was replaced.")

    @staticmethod
    def _now() -> Any:
        if connection.vendor != "sqlite":
            return None
        try:
            found = os.stat(connection.settings_dict["NAME"])
        except OSError as error:
            raise Doubt(f"The file of the database is gone ({error.strerror}).") from None
        return found.st_dev, found.st_ino
