"""Child processes that live and die with their parent, and are started again when they die alone."""

from __future__ import annotations

import contextlib
import ctypes
import os
import signal
import subprocess
import sys
import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

GRACE_SECONDS = 15.0
# Between a death and the next start: doubled each time, and short again after a while of life.
FIRST_PAUSE_SECONDS, LONGEST_PAUSE_SECONDS = 0.5, 30.0
STEADY_SECONDS = 60.0
_PR_SET_PDEATHSIG = 1


@dataclass
class _Child:
    """One child: how it is started, since when it runs, and how long a death is waited after."""

    command: Sequence[str]
    environment: Mapping[str, str]
    process: subprocess.Popen[bytes]
    began: float
    pause: float = FIRST_PAUSE_SECONDS
    again_at: float | None = None


class Children:
    """A handful of children; `stop` ends every one of them and what they started."""

    def __init__(self) -> None:
        self._children: dict[str, _Child] = {}

    def start(self, name: str, command: Sequence[str], environment: Mapping[str, str]) -> None:
        """Start a child in a session of its own, so that Ctrl-C reaches it only through us."""
        process = _spawned(command, environment)
        self._children[name] = _Child(command, environment, process, time.monotonic())

    def revive(self) -> list[str]:
        """Start again whoever has died, after its pause; returns a sentence for each thing done."""
        now = time.monotonic()
        told = [self._revived(name, child, now) for name, child in self._children.items()]
        return [sentence for sentence in told if sentence]

    def _revived(self, name: str, child: _Child, now: float) -> str:
        if child.process.poll() is None:
            return ""
        if child.again_at is None:
            if now - child.began > STEADY_SECONDS:
                child.pause = FIRST_PAUSE_SECONDS
            child.again_at = now + child.pause
            child.pause = min(2 * child.pause, LONGEST_PAUSE_SECONDS)
            return f"The {name} has ended ({_why(child.process.returncode)}); it is started again."
        if now >= child.again_at:
            _end_group(child.process)
            child.process, child.began = _spawned(child.command, child.environment), now
            child.again_at = None
        return ""

    def ended(self) -> str | None:
        """Return the name of a child that has ended, if any."""
        dead = (n for n, child in self._children.items() if child.process.poll() is not None)
        return next(dead, None)

    def stop(self) -> None:
        """Ask all to end, wait, then kill every group: a grandchild may outlive its parent."""
        processes = [child.process for child in self._children.values()]
        for process in processes:
            if process.poll() is None:
                process.terminate()
        deadline = time.monotonic() + GRACE_SECONDS
        for process in processes:
            with contextlib.suppress(subprocess.TimeoutExpired):
                process.wait(max(0.1, deadline - time.monotonic()))
            _end_group(process)
            process.wait()


def _spawned(command: Sequence[str], environment: Mapping[str, str]) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        command,
        env=dict(environment),
        start_new_session=True,
        # No thread runs in this process before its children have started.
        preexec_fn=_die_with_parent if sys.platform == "linux" else None,  # noqa: PLW1509
    )


def _end_group(process: subprocess.Popen[bytes]) -> None:
    with contextlib.suppress(ProcessLookupError):
        os.killpg(process.pid, signal.SIGKILL)


def _why(code: int) -> str:
    """Return in words how a process ended."""
    return f"signal {signal.Signals(-code).name}" if code < 0 else f"code {code}"


def _die_with_parent() -> None:
    ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGTERM)
    if os.getppid() == 1:  # the parent went before the call above took hold
        os._exit(1)
