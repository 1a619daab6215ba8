"""Lets a process of its own talk to an instrument, and gives its lines until a deadline."""

from __future__ import annotations

import json
import os
import selectors
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.conf import settings

from shop.instruments import reader, scpi
from shop.instruments.models import Connection

Line = dict[str, Any]
# How long one answer may take, and a pause between two.
WAIT_SECONDS, PAUSE_SECONDS = 5.0, 0.2
_PROBLEMS = {
    "missing": "The library that talks to instruments is not installed where the worker runs. Install"
    " the extra `instruments` there (docs/instruments.md).",
    "timeout": "It did not answer in time. Is it on, and set to remote or LAN?",
    "lost": "It stopped answering. Look at its cable.",
    "away": "Nothing is at this address. Look at its cable and its address.",
    "busy": "Somebody else holds the connection. Close it there.",
}


def problem(word: str, *, met: bool = True) -> str:
    """Return what a problem of the reader is, in a sentence; `met`: whether it had answered before."""
    word = "away" if word == "lost" and not met else word
    return _PROBLEMS.get(word, f"It cannot be asked: {word[:200]}.")


def asked_of(connection: Connection) -> Line:
    """Return what the reader needs to reach an instrument."""
    return {"resource": connection.resource, "baud": connection.baud}


@contextmanager
def conversation(what: str, seconds: float, asked: Line) -> Iterator[Iterator[Line]]:
    """Give the lines of a reader as they come, at most for so many seconds; it is ended with the block."""
    order = {
        "do": what,
        "library": settings.VISA_LIBRARY,
        "identity": scpi.IDENTITY,
        "wait": WAIT_SECONDS,
        "pause": PAUSE_SECONDS,
        # It ends by itself, too: whoever started it may be gone by then.
        "seconds": seconds + 1,
    }
    process = subprocess.Popen(
        [sys.executable, "-I", reader.__file__],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )
    try:
        yield _lines(process, json.dumps(order | asked), time.monotonic() + seconds)
    finally:
        _end(process)


def _end(process: subprocess.Popen[bytes]) -> None:
    # First asked, so that it closes the session and the instrument is free for the next.
    process.terminate()
    try:
        process.wait(1)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
    for pipe in (process.stdin, process.stdout):
        if pipe is not None:
            pipe.close()


def _lines(process: subprocess.Popen[bytes], order: str, until: float) -> Iterator[Line]:
    assert process.stdin is not None
    assert process.stdout is not None
    process.stdin.write(order.encode() + b"\n")
    process.stdin.flush()
    file, rest = process.stdout.fileno(), b""
    with selectors.DefaultSelector() as waiting:
        waiting.register(file, selectors.EVENT_READ)
        while (left := until - time.monotonic()) > 0 and waiting.select(left):
            piece = os.read(file, 65536)
            if not piece:
                return
            *whole, rest = (rest + piece).split(b"\n")
            yield from map(json.loads, whole)
