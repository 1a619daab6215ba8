"""Does on this machine what `compose.yaml` says: the same commands, order, gates and replicas.

Containers, images and read-only file systems are not made; PostgreSQL and Redis are those of the
machine. Everything else is read from the file: what runs, how often, after what, with which
settings, and what tells that it is healthy.
"""

from __future__ import annotations

import contextlib
import os
import re
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from ruamel.yaml import YAML

ROOT = Path(__file__).resolve().parents[1]
OUTSIDE = ("postgres", "redis")


def read() -> dict[str, Any]:
    """Return the services of the file, merge keys resolved."""
    return YAML(typ="safe").load((ROOT / "compose.yaml").read_text(encoding="utf-8"))


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


@dataclass
class Child:
    """A process of a service; `port` is 0 for those that serve no pages."""

    service: str
    process: subprocess.Popen
    port: int = 0


@dataclass
class Composed:
    """The services of the file, running side by side."""

    folder: Path
    settings: dict[str, str]
    leave_out: tuple[str, ...] = ()
    children: list[Child] = field(default_factory=list)

    def up(self) -> None:
        services = read()["services"]
        for name in in_order(services):
            if name not in (*OUTSIDE, *self.leave_out):
                self._start(name, services[name])

    def _start(self, name: str, service: dict[str, Any]) -> None:
        environment = {**os.environ, **self._environment(service), **self.settings}
        if str(service.get("restart")) == "no":
            done = subprocess.run(self._command(service, 0), env=environment, cwd=ROOT, check=False)
            if done.returncode:
                raise AssertionError(f"{name} did not complete")
            return
        mine = []
        for _ in range(int(service.get("deploy", {}).get("replicas", 1))):
            port = free_port() if "ports" in service else 0
            process = subprocess.Popen(
                self._command(service, port),
                env=environment,
                cwd=ROOT,
                start_new_session=True,
                stdout=(self.folder / f"{name}.log").open("ab"),
                stderr=subprocess.STDOUT,
            )
            mine.append(Child(name, process, port))
        self.children += mine
        for child in mine:
            if child.port:
                wait_until_healthy(child.port)

    def _environment(self, service: dict[str, Any]) -> dict[str, str]:
        """The file's settings with its defaults, secrets and addresses of this machine apart."""
        given = service.get("environment", {})
        found = {name: _substituted(str(value)) for name, value in given.items()}
        return {name: value for name, value in found.items() if not name.endswith("_FILE")}

    @staticmethod
    def _command(service: dict[str, Any], port: int) -> list[str]:
        words = [str(word) for word in service["command"]]
        bin_ = Path(sys.executable).parent
        words[0] = str(bin_ / words[0]) if (bin_ / words[0]).exists() else words[0]
        if port:
            words[words.index("--port") + 1] = str(port)
            words[words.index("--host") + 1] = "127.0.0.1"
        return words

    @property
    def ports(self) -> list[int]:
        return [child.port for child in self.children if child.port]

    def of(self, service: str) -> list[Child]:
        return [child for child in self.children if child.service == service]

    def down(self, seconds: float = 30) -> dict[str, list[int | None]]:
        """End all as compose does, last started first; returns the exit codes by service."""
        codes: dict[str, list[int | None]] = {}
        for child in reversed(self.children):
            if child.process.poll() is None:
                child.process.send_signal(signal.SIGTERM)
        for child in reversed(self.children):
            try:
                code: int | None = child.process.wait(seconds)
            except subprocess.TimeoutExpired:
                code = None
            _kill_group(child.process.pid)
            codes.setdefault(child.service, []).append(code)
        return codes


def _kill_group(pid: int) -> None:
    with contextlib.suppress(ProcessLookupError):
        os.killpg(pid, signal.SIGKILL)


def _substituted(value: str) -> str:
    before = ""
    while before != value:  # a default may hold a variable of its own
        before = value
        value = re.sub(r"\$\{(\w+):-([^${}]*)\}", lambda m: os.environ.get(m[1]) or m[2], value)
    return value


def in_order(services: dict[str, Any]) -> list[str]:
    """Return the services so that each comes after those it depends on."""
    ordered: list[str] = []
    left = dict(services)
    while left:
        ready = [n for n, s in left.items() if set(s.get("depends_on", {})) <= set(ordered)]
        if not ready:
            raise AssertionError(f"services wait for each other: {sorted(left)}")
        for name in ready:
            ordered.append(name)
            del left[name]
    return ordered


def wait_until_healthy(port: int, seconds: float = 40) -> None:
    until = time.monotonic() + seconds
    while time.monotonic() < until:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/healthz/ready", timeout=3) as got:
                if got.status == 200:
                    return
        except (OSError, urllib.error.URLError):
            time.sleep(0.2)
    raise AssertionError(f"the page server on {port} did not become healthy")
