"""Child processes that live and die with their parent."""

from __future__ import annotations

import contextlib
import ctypes
import os
import signal
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence

GRACE_SECONDS = 15.0
_PR_SET_PDEATHSIG = 1


class Children:
    """A handful of children; `stop` ends every one of them and what they started."""

    def __init__(self) -> None:
        self._running: dict[str, subprocess.Popen[bytes]] = {}

    def start(self, name: str, command: Sequence[str], environment: Mapping[str, str]) -> None:
        """Start a child in a session of its own, so that Ctrl-C reaches it only through us."""
        self._running[name] = subprocess.Popen(
            command,
            env=dict(environment),
            start_new_session=True,
            # No thread runs in this process before its children have started.
            preexec_fn=_die_with_parent if sys.platform == "linux" else None,  # noqa: PLW1509
        )

    def ended(self) -> str | None:
        """Return the name of a child that has ended, if any."""
        return next((n for n, child in self._running.items() if child.poll() is not None), None)

    def stop(self) -> None:
        """Ask all to end, wait, then kill every group: a grandchild may outlive its parent."""
        for child in self._running.values():
            if child.poll() is None:
                child.terminate()
        deadline = time.monotonic() + GRACE_SECONDS
        for child in self._running.values():
            with contextlib.suppress(subprocess.TimeoutExpired):
                child.wait(max(0.1, deadline - time.monotonic()))
            with contextlib.suppress(ProcessLookupError):
                os.killpg(child.pid, signal.SIGKILL)
            child.wait()


def _die_with_parent() -> None:
    ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGTERM)
    if os.getppid() == 1:  # the parent went before the call above took hold
        os._exit(1)
