"""Hand a file to the darkroom, one at a time, and take back what it made of it."""

from __future__ import annotations

import hashlib
import json
import subprocess
import sys
import threading
from dataclasses import dataclass

from checklists.engine.quoting import quoted
from shop.lib.refusals import bad
from shop.photos import decoder

LARGEST_FILE = 30 * 1024 * 1024
TIMEOUT_SECONDS = 40

# Decoding takes memory: one at a time in each process of the shop.
_ONE_AT_A_TIME = threading.Semaphore(1)


@dataclass(frozen=True)
class Developed:
    """A picture as it is kept; sizes in pixels, hashes SHA-256 in hex."""

    whole: bytes
    small: bytes
    width: int
    height: int
    sha256_sent: str
    sha256: str


def develop(name: str, raw: bytes) -> Developed:
    """Return the picture in a file of this name; BadInput with a sentence when there is none.

    The decoder runs in a process of its own: a file made to break it breaks nothing here.
    """
    if not raw:
        raise bad("photo", f"{quoted(name)} is empty; take the picture again.")
    if len(raw) > LARGEST_FILE:
        raise too_large(name)
    with _ONE_AT_A_TIME:
        done = _run(name, raw)
    if done.returncode == decoder.REFUSED:
        raise bad("photo", f"{quoted(name)}: {done.stderr.decode()}")
    if done.returncode:
        raise bad("photo", f"{quoted(name)} cannot be read as a picture; nothing of it is kept.")
    line, _, parts = done.stdout.partition(b"\n")
    told = json.loads(line)
    whole, small = parts[: told["whole"]], parts[told["whole"] :]
    return Developed(
        whole,
        small,
        told["width"],
        told["height"],
        hashlib.sha256(raw).hexdigest(),
        hashlib.sha256(whole).hexdigest(),
    )


def _run(name: str, raw: bytes) -> subprocess.CompletedProcess[bytes]:
    command = [sys.executable, "-I", decoder.__file__]
    try:
        return subprocess.run(
            command, input=raw, capture_output=True, timeout=TIMEOUT_SECONDS, check=False
        )
    except subprocess.TimeoutExpired:
        raise bad(
            "photo", f"{quoted(name)} takes too long to read; nothing of it is kept."
        ) from None


def too_large(name: str) -> Exception:
    """Return the error for a file that is larger than is taken."""
    return bad(
        "photo",
        f"{quoted(name)} is larger than {LARGEST_FILE // 2**20} MB; send a smaller picture.",
    )
