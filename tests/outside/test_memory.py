"""A page server that runs out of memory under load loses nothing that it said was kept.

Whoever got no answer sends the same request again, with its key: nothing is there twice either.
"""

from __future__ import annotations

import contextlib
import os
import resource
import signal
import sys
import threading
import time
from collections import Counter
from pathlib import Path

import pytest

from tests.helpers_plain import amplifier
from tests.outside import reading
from tests.outside.running import Caller, Lost, RunningShop

pytestmark = [
    pytest.mark.process,
    pytest.mark.slow,
    pytest.mark.skipif(sys.platform != "linux", reason="looks for children in /proc"),
]
THREADS, ROUNDS = 4, 3
SECONDS_TO_TRY, SECONDS_TO_DIE = 90.0, 3.0
LARGE = b'{"reference": "' + b"x" * 30_000_000 + b'"}'


def below(pid: int) -> list[int]:
    """All processes under one, the deepest last."""
    stats = []
    for file in Path("/proc").glob("[0-9]*/stat"):
        with contextlib.suppress(OSError):
            stats.append(file.read_text())
    parents = {int(s.split()[0]): int(s.rpartition(")")[2].split()[1]) for s in stats}
    found = [child for child, parent in parents.items() if parent == pid]
    return found + [deeper for child in found for deeper in below(child)]


def page_server(shop: RunningShop) -> int:
    """The process that answers: the deepest of those that the page server started."""
    assert shop.process is not None
    mine = []
    for pid in below(shop.process.pid):
        with contextlib.suppress(OSError):
            if b"granian" in Path(f"/proc/{pid}/cmdline").read_bytes():
                mine.append(pid)
    return mine[-1]


def starve(pid: int, caller: Caller) -> None:
    """Give a process no memory beyond what it has, and something to take in that needs more.

    What does not end by that is ended as the kernel would.
    """
    pages = int(Path(f"/proc/{pid}/statm").read_text().split()[0])
    most = pages * resource.getpagesize() + 2**20
    resource.prlimit(pid, resource.RLIMIT_AS, (most, most))
    until = time.monotonic() + SECONDS_TO_DIE
    while time.monotonic() < until and Path(f"/proc/{pid}").exists():
        with contextlib.suppress(Lost):
            assert caller.call("POST", "jobs/", LARGE)[0] >= 400
    with contextlib.suppress(ProcessLookupError):
        os.kill(pid, signal.SIGKILL)


class Writer(threading.Thread):
    """Writes notes down one after the other, each until it was said to be kept, until `over`."""

    over = threading.Event()

    def __init__(self, caller: Caller, number: int, name: str) -> None:
        super().__init__(name=name)
        self.caller, self.number, self.kept, self.again = caller, number, [], 0

    def run(self) -> None:
        place = 0
        while not self.over.is_set():
            self._write(f"{self.name}-{place}")
            place += 1

    def _write(self, text: str) -> None:
        body = {"kind": "note_added", "data": {"text": text}}
        until = time.monotonic() + SECONDS_TO_TRY
        while time.monotonic() < until:
            with contextlib.suppress(Lost):
                status, _ = self.caller.post(f"jobs/{self.number}/ledger/", body, key=text)
                if status == 201:
                    self.kept.append(text)
                    return
            self.again += 1
            time.sleep(0.2)


def test_out_of_memory_under_load_nothing_is_lost_and_nothing_is_twice(tmp_path):
    with RunningShop(tmp_path) as shop:
        caller = Caller(shop.port, shop.token(), seconds=10)
        status, job = caller.post("jobs/", {"unit": {"make": "Own"}, "facts": amplifier()})
        assert status == 201
        writers = [Writer(caller, job["number"], f"writer-{n}") for n in range(THREADS)]
        for writer in writers:
            writer.start()
        for _ in range(ROUNDS):
            time.sleep(1)
            starve(page_server(shop), caller)
            _until_it_answers(caller)
        Writer.over.set()
        for writer in writers:
            writer.join()
        rows = caller.get(f"jobs/{job['number']}/ledger/")
        told = shop.log

    texts = Counter(row["data"]["text"] for row in rows if row["kind"] == "note_added")
    kept = [text for writer in writers for text in writer.kept]
    again = sum(writer.again for writer in writers)
    print(f"{len(kept)} kept, {again} times sent again, {len(rows)} rows")
    assert again >= ROUNDS, "nobody noticed"
    assert texts == Counter(kept)
    assert reading.chain_faults(rows) == []
    assert told.count("The page server has ended") >= ROUNDS


def _until_it_answers(caller: Caller) -> None:
    until = time.monotonic() + SECONDS_TO_TRY
    while time.monotonic() < until:
        with contextlib.suppress(Lost, AssertionError):
            caller.get("jobs/")
            return
        time.sleep(0.3)
