"""Files from outside are read in a process of their own, one at a time: what breaks it breaks nothing here."""

from __future__ import annotations

import subprocess
import sys
import threading

# Reading takes memory: one at a time in each process of the shop.
_SLOT = threading.Semaphore(1)


def run(
    script: str, arguments: list[str], raw: bytes, *, seconds: float
) -> subprocess.CompletedProcess[bytes]:
    """Return what a script made of the bytes; subprocess.TimeoutExpired after so many seconds.

    The script sees nothing of this project, its settings or its environment's paths (`-I`).
    """
    command = [sys.executable, "-I", script, *arguments]
    with _SLOT:
        return subprocess.run(command, input=raw, capture_output=True, timeout=seconds, check=False)
