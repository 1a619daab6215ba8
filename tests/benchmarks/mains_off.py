"""How soon mains off is answered while the shop is busy, locked, or its disk is full. SQLite, one machine.

Run by `make bench-mains` (ROWS=121692). A shop of its own is started on a small disk in memory,
where root may make one, else in a folder; then the last part is left out. Each press is a request
of its own over HTTP; what it says is looked at: recorded, or told that it is not.
"""

from __future__ import annotations

import contextlib
import csv
import http.client
import json
import os
import resource
import shutil
import socket
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from urllib.parse import urlencode

ROWS = int(os.environ.get("ROWS", "121692"))
UNITS, PRESSES, HALF_SENT, SIGN_INS = 40, 30, 200, 100
DISK_MEGABYTES = 900
WITHIN_SECONDS = 1.0
ROOT = Path(__file__).resolve().parents[2]
WORDS = ("hums on one channel", "stops after an hour", "brummt", "no sound", "cable chewed")


class Shop:
    """A shop of its own: page server, worker, units under mains."""

    def __init__(self, folder: Path) -> None:
        from tests.composed import free_port  # noqa: PLC0415

        self.folder, self.port, self.signs = folder, free_port(), list[int]()
        self.environment = {**os.environ, "BENCHTAG_DATA": str(folder)}
        self.process = subprocess.Popen(
            self._manage("quickstart", "--empty", "--port", str(self.port), "--data", str(folder)),
            env=self.environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        while not self.ready():
            if self.process.poll() is not None:
                raise SystemExit("The shop did not start.")
            time.sleep(0.2)
        self.token, self.numbers = units_under_mains()

    def _manage(self, *words: str) -> list[str]:
        return [sys.executable, str(ROOT / "manage.py"), *words]

    def run(self, *words: str) -> subprocess.Popen:
        return subprocess.Popen(
            self._manage(*words), env=self.environment, stdout=subprocess.DEVNULL
        )

    def ready(self) -> bool:
        with contextlib.suppress(OSError):
            return self.ask("GET", "/healthz/ready")[0] == 200
        return False

    def ask(self, method: str, path: str, body: object = None) -> tuple[int, str]:
        link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        headers = {"Content-Type": "application/json"}
        if path.startswith("/api/"):
            headers["Authorization"] = f"Bearer {self.token}"
        try:
            link.request(method, path, json.dumps(body) if body else None, headers)
            answer = link.getresponse()
            return answer.status, answer.read().decode()
        finally:
            link.close()

    def sign_in(self, n: int) -> None:
        """Try a name and a password, as a browser does: both are looked up and hashed."""
        link = http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)
        with contextlib.closing(link), contextlib.suppress(OSError):
            link.request("GET", "/sign-in/")
            answer = link.getresponse()
            answer.read()
            cookie = (answer.getheader("Set-Cookie") or "").split(";")[0]
            typed = {"username": f"n{n}", "password": "none of theirs"}
            typed["csrfmiddlewaretoken"] = cookie.partition("=")[2]
            form = "application/x-www-form-urlencoded"
            headers = {"Content-Type": form, "Cookie": cookie}
            link.request("POST", "/sign-in/", urlencode(typed), headers)
            self.signs.append(link.getresponse().status)

    def power(self, number: int, to: str) -> tuple[int, str]:
        return self.ask("POST", f"/api/v1/jobs/{number}/power/", {"to": to})

    def is_off(self, number: int) -> bool:
        return json.loads(self.ask("GET", f"/api/v1/jobs/{number}/")[1])["power"] == "isolated"

    def stop(self) -> None:
        self.process.terminate()
        self.process.wait(30)


def units_under_mains() -> tuple[str, list[int]]:
    """Return a token, and the jobs that were brought to the limiter."""
    import django  # noqa: PLC0415

    django.setup()
    from django.db import connection  # noqa: PLC0415

    from shop.accounts import roles  # noqa: PLC0415
    from shop.api.models import ApiToken  # noqa: PLC0415
    from tests.helpers import Bench, amplifier  # noqa: PLC0415

    by = roles.make_user("bench-mains", "technician")
    bench, numbers = Bench(by), []
    for _ in range(UNITS):
        number = bench.receive(facts=amplifier())
        bench.limited(number)
        numbers.append(number)
    token = ApiToken.make(by)
    connection.close()
    return token, numbers


def spreadsheet(file: Path) -> None:
    with file.open("w", encoding="utf-8", newline="") as out:
        rows = csv.writer(out)
        rows.writerow(["id", "category", "year", "problem", "status", "country"])
        for n in range(ROWS):
            year = 1970 + n % 50
            rows.writerow([f"R{n}", f"Receiver {n % 400}", year, WORDS[n % 5], "open", "GBR"])


class Presses:
    """What came of pressing mains off, one unit after the other."""

    def __init__(self, name: str) -> None:
        self.name, self.seconds = name, list[float]()
        self.recorded = self.told = self.else_ = 0

    def press(self, shop: Shop, number: int) -> None:
        began = time.monotonic()
        status, said = shop.power(number, "isolated")
        self.seconds.append(time.monotonic() - began)
        if status == 200:
            self.recorded += 1
        elif status == 503 and "What counts is the plug" in said:
            self.told += 1
        else:
            self.else_ += 1
            print(f"  {self.name}: {status} {said[:200]}", flush=True)

    def line(self) -> str:
        millis = sorted(1000 * second for second in self.seconds)
        late = sum(second > WITHIN_SECONDS for second in self.seconds)
        return (
            f"{self.name:34}{len(millis):8}{self.recorded:10}{self.told:10}{self.else_:7}"
            f"{statistics.median(millis):10.0f}{millis[-1]:10.0f}{late:8}"
        )


def pressing(shop: Shop, name: str, goes_on: Callable[[], bool], *, every: float = 0.5) -> Presses:
    """Press mains off now and again while something goes on; each unit is put back on after."""
    found, place = Presses(name), 0
    while goes_on():
        number = shop.numbers[place % len(shop.numbers)]
        place += 1
        if shop.power(number, "limited")[0] == 200:
            found.press(shop, number)
        time.sleep(every)
    return found


def times(n: int) -> Callable[[], bool]:
    left = iter(range(n))
    return lambda: next(left, None) is not None


def during_import(shop: Shop) -> Iterator[Presses]:
    file = shop.folder / "rows.csv"
    spreadsheet(file)
    before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.monotonic()
    load = shop.run("jobs", "import", str(file))
    alone = pressing(shop, f"import of {ROWS:,} rows", lambda: load.poll() is None)
    took = time.monotonic() - began
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    cpu = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    memory = after.ru_maxrss / 1024
    print(
        f"  import: exit {load.returncode}, {took:.0f} s, {ROWS / took:.0f} rows a second;"
        f" {cpu:.0f} s of processor, {ROWS / cpu:.0f} rows a second of it; {memory:.0f} MiB",
        flush=True,
    )
    yield alone
    file.write_text("id,make\n" + "".join(f"E{n},Alder\n" for n in range(ROWS // 10)))
    load = shop.run("jobs", "import", str(file))
    out = shop.run("export", str(shop.folder / "out.zip"))
    both = lambda: load.poll() is None or out.poll() is None  # noqa: E731
    yield pressing(shop, "import and export together", both)
    (shop.folder / "out.zip").unlink(missing_ok=True)
    file.unlink()


def under_crowds(shop: Shop) -> Iterator[Presses]:
    head = b"POST /sign-in/ HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 100000\r\n\r\nx"
    with contextlib.ExitStack() as held:
        for _ in range(HALF_SENT):
            link = held.enter_context(socket.create_connection(("127.0.0.1", shop.port)))
            link.sendall(head)
        yield pressing(shop, f"{HALF_SENT} half-sent requests", times(PRESSES), every=0.1)
    crowd = [threading.Thread(target=shop.sign_in, args=(n,)) for n in range(SIGN_INS)]
    for person in crowd:
        person.start()
    yield pressing(shop, f"{SIGN_INS} sign-ins at once", times(10), every=0.05)
    for person in crowd:
        person.join()
    print(f"  sign-ins: {dict(Counter(shop.signs))} by status", flush=True)


@contextlib.contextmanager
def locked(shop: Shop) -> Iterator[None]:
    """Another process holds the write lock; here another connection, which is the same to SQLite."""
    holder = sqlite3.connect(shop.folder / "benchtag.sqlite3", isolation_level=None)
    holder.execute("BEGIN IMMEDIATE")
    try:
        yield
    finally:
        holder.execute("ROLLBACK")
        holder.close()


@contextlib.contextmanager
def full(shop: Shop) -> Iterator[None]:
    """The disk is full to the last byte, and so is what the database had room for in its own files."""
    filler = shop.folder / "filler"
    with filler.open("wb", buffering=0) as file, contextlib.suppress(OSError):
        while True:
            file.write(b"\0" * 4096)
    for length in (15_000, 300, 1):
        note = {"kind": "note_added", "data": {"text": "x" * length}}
        for _ in range(2000):
            if shop.ask("POST", f"/api/v1/jobs/{shop.numbers[-1]}/ledger/", note)[0] == 503:
                break
    try:
        yield
    finally:
        filler.unlink()


def stopped(
    shop: Shop, name: str, stop: Callable[[Shop], contextlib.AbstractContextManager[None]]
) -> Presses:
    """Press while no write is taken; then see that what was told is recorded once one is."""
    some = shop.numbers[:10]
    for number in some:
        shop.power(number, "limited")
    found = Presses(name)
    with stop(shop):
        for number in some:
            found.press(shop, number)
        print(f"  {name}: ready says {shop.ask('GET', '/healthz/ready')}", flush=True)
    began = time.monotonic()
    while not all(shop.is_off(number) for number in some):
        if time.monotonic() - began > 60:
            left = [number for number in some if not shop.is_off(number)]
            print(f"  {name}: not recorded within a minute: {left}", flush=True)
            return found
        time.sleep(0.05)
    print(f"  {name}: recorded {time.monotonic() - began:.1f} s after it ended", flush=True)
    return found


@contextlib.contextmanager
def small_disk() -> Iterator[tuple[Path, bool]]:
    """A folder on a disk of its own in memory; whether it is one."""
    folder = Path(tempfile.mkdtemp(prefix="benchtag-mains-"))
    size = f"size={DISK_MEGABYTES}m,mode=700"
    own = (
        shutil.which("mount") is not None
        and subprocess.run(
            ["mount", "-t", "tmpfs", "-o", size, "tmpfs", folder], check=False, capture_output=True
        ).returncode
        == 0
    )
    try:
        yield folder, own
    finally:
        if own:
            subprocess.run(["umount", "-l", folder], check=False)
        shutil.rmtree(folder, ignore_errors=True)


def main() -> None:
    with small_disk() as (folder, own):
        os.environ["BENCHTAG_DATA"] = str(folder)
        os.environ.pop("BENCHTAG_DATABASE_URL", None)
        os.environ["DJANGO_SETTINGS_MODULE"] = "shop.site.settings"
        shop = Shop(folder)
        try:
            lines = [pressing(shop, "at rest", times(PRESSES), every=0.05)]
            lines += under_crowds(shop)
            lines.append(stopped(shop, "locked by another program", locked))
            if own:
                lines.append(stopped(shop, "disk full", full))
            else:
                print("  no disk of its own here: a full one was not tried")
            lines += during_import(shop)
        finally:
            shop.stop()
    print(f"{'mains off':34}{'presses':>8}{'recorded':>10}{'told not':>10}{'else':>7}", end="")
    print(f"{'p50 ms':>10}{'most ms':>10}{'> 1 s':>8}")
    for line in lines:
        print(line.line())


if __name__ == "__main__":
    main()
