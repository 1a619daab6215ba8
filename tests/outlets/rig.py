"""One lane of the drop-out test: a shop of its own, a holder, a network and a contactor.

The holder is the shop's own code in a process of its own, forked from one that has Django loaded;
killing it is a real kill. Its clock of the day is the machine's plus what `jump` holds.
"""

from __future__ import annotations

import contextlib
import json
import multiprocessing
import os
import select
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

from django.conf import settings
from django.db import connections

from shop.outlets import passwords
from shop.outlets.doubts import Doubt
from shop.outlets.holder import Holder
from shop.outlets.lease import Terms
from shop.outlets.models import COMMISSIONED, Outlet
from tests.outlets import network

# Shorter than in the shop: a killed holder is replaced by the next within two seconds.
TERMS = Terms(beat=0.3, good=1.0, take_over=1.6)
DOUBTED = 3


class HolderProcess:
    """The shop's holder in a process that can be frozen and killed."""

    def __init__(self, terms=TERMS):
        self.jump = multiprocessing.RawValue("d", 0.0)
        connections.close_all()
        self.pid = os.fork()
        if not self.pid:
            self._be(terms)
        self.code = None

    def _be(self, terms):
        stop, code = threading.Event(), 1
        signal.signal(signal.SIGTERM, lambda *_: stop.set())
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        try:
            Holder(stop, terms=terms, wall=lambda: time.time() + self.jump.value).run()
            code = 0
        except Doubt:
            code = DOUBTED
        finally:
            os._exit(code)

    def send(self, number):
        with contextlib.suppress(ProcessLookupError):
            os.kill(self.pid, number)

    def has_ended(self):
        if self.code is None:
            pid, status = os.waitpid(self.pid, os.WNOHANG)
            if pid:
                self.code = os.waitstatus_to_exitcode(status)
        return self.code is not None

    def wait(self, seconds=15):
        until = time.monotonic() + seconds
        while not self.has_ended() and time.monotonic() < until:
            time.sleep(0.02)
        return self.code

    def end(self):
        for number in (signal.SIGCONT, signal.SIGTERM):
            self.send(number)
        if self.wait(5) is None:
            self.send(signal.SIGKILL)
            self.wait()


class ContactorProcess:
    """The simulated outlet, and all that it told."""

    def __init__(self, given, within=()):
        command = [*within, sys.executable, "-m", "tests.outlets.contactor", json.dumps(given)]
        self.process = subprocess.Popen(
            command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, bufsize=0
        )
        self.told, self._rest = [], b""
        self.enabled = self.closed = False

    def order(self, word):
        self.process.stdin.write(word.encode() + b"\n")

    def read(self, seconds):
        """Take in what it tells, until so many seconds from now."""
        until = time.monotonic() + seconds
        while True:
            ready, _, _ = select.select(
                [self.process.stdout], [], [], max(0, until - time.monotonic())
            )
            if not ready:
                return
            self._rest += os.read(self.process.stdout.fileno(), 65536)
            *lines, self._rest = self._rest.split(b"\n")
            for line in lines:
                self._take(json.loads(line))

    def _take(self, line):
        self.told.append(line)
        self.closed = line.get("closed", self.closed)
        if line["what"] in ("enabled", "dropped"):
            self.enabled = line["what"] == "enabled"
            self.closed = self.closed and self.enabled

    def wait_for(self, what, seconds, after=0.0):
        """Return the first that it told after a moment; None when it does not come in time."""
        until = time.monotonic() + seconds
        while True:
            found = next(
                (one for one in self.told if one["what"] == what and one["at"] > after), None
            )
            if found or time.monotonic() > until:
                return found
            self.read(0.05)

    def end(self):
        self.process.kill()
        self.process.wait()


class Lane:
    """Everything around one outlet; the database of the shop is a file of this lane."""

    def __init__(self, number, folder, *, kind="mqtt", namespace=True):
        self.number, self.folder, self.kind = number, Path(folder), kind
        port = network.free_port()
        self.network = network.Namespace(number) if namespace else network.Relay(port)
        within = self.network.within if namespace else ()
        self.broker = self.holder = self.contactor = None
        try:
            self._connect(port, within, namespace)
        except BaseException:
            self.end()
            raise

    def _connect(self, port, within, namespace):
        if self.kind == "mqtt":
            addresses = [self.network.address(whose, port)[0] for whose in ("shop", "outlet")]
            self.broker = network.Broker(self.folder / "broker", port, addresses, within)
            self.broker.start()
        self.ends = {whose: self.network.address(whose, port) for whose in ("shop", "outlet")}
        self.contactor = self._contactor(port, within, namespace)
        try:
            network.wait_until_open(*self.ends["shop"])
        except TimeoutError as error:
            said = self.broker.said.read_text() if self.broker else ""
            raise TimeoutError(f"{error} {said[-500:]}") from None

    def _contactor(self, port, within, namespace):
        if self.kind == "modbus":
            host = "0.0.0.0" if namespace else "127.0.0.1"
            return ContactorProcess({"kind": "modbus", "host": host, "port": port}, within)
        host, port = self.ends["outlet"]
        return ContactorProcess(
            {
                "kind": "mqtt",
                "host": host,
                "port": port,
                "topic": "bench/b1",
                "username": "outlet",
                "password": network.PEOPLE["outlet"],
                "authority": str(self.broker.authority),
            }
        )

    def set_up_outlet(self):
        """Write the outlet down in the shop of this lane, as commissioned."""
        host, port = self.ends["shop"]
        mqtt = {
            "topic": "bench/b1",
            "username": "shop",
            "sealed_password": passwords.sealed(network.PEOPLE["shop"]),
            "authority": self.broker.authority.read_text() if self.broker else "",
        }
        more = mqtt if self.kind == "mqtt" else {"tls": False}
        return Outlet.objects.create(
            name="B1", kind=self.kind, host=host, port=port, use=COMMISSIONED, **more
        )

    def hold(self):
        """Start a holder if none runs."""
        if self.holder is None or self.holder.has_ended():
            self.holder = HolderProcess()

    def end(self):
        if self.holder:
            self.holder.end()
        if self.contactor:
            self.contactor.end()
        if self.broker:
            self.broker.kill()
        self.network.end()


def use_database(path):
    """Let this process work on another file."""
    connections.close_all()
    settings.DATABASES["default"]["NAME"] = str(path)
    connections["default"].settings_dict["NAME"] = str(path)
