"""A shop that runs as people run it, called over HTTP from outside."""

from __future__ import annotations

import contextlib
import http.client
import json
import os
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests import migrated
from tests.composed import ROOT, free_port, wait_until_healthy

SECONDS_TO_START, SECONDS_TO_END = 90.0, 30.0


@dataclass
class RunningShop:
    """`quickstart --empty` on a port of its own; `database` is an address, or none for SQLite."""

    folder: Path
    database: str = ""
    port: int = field(default_factory=free_port)
    process: subprocess.Popen[bytes] | None = None

    @property
    def environment(self) -> dict[str, str]:
        plain = {k: v for k, v in os.environ.items() if not k.startswith(("BENCHTAG_", "DJANGO_"))}
        shop = {"BENCHTAG_DATA": str(self.folder)}
        return plain | shop | ({"BENCHTAG_DATABASE_URL": self.database} if self.database else {})

    def __enter__(self) -> RunningShop:
        file = self.folder / migrated.NAME
        if not self.database and not file.exists():
            migrated.put_at(file)
        manage = [sys.executable, "manage.py", "quickstart", "--empty", "--port", str(self.port)]
        log = (self.folder / "log").open("ab")
        self.process = subprocess.Popen(
            manage, cwd=ROOT, env=self.environment, stdout=log, stderr=subprocess.STDOUT
        )
        wait_until_healthy(self.port, SECONDS_TO_START)
        return self

    def __exit__(self, *_: object) -> None:
        assert self.process is not None
        self.process.terminate()
        with contextlib.suppress(subprocess.TimeoutExpired):
            self.process.wait(SECONDS_TO_END)
        self.process.kill()
        self.process.wait()

    @property
    def log(self) -> str:
        return (self.folder / "log").read_text(encoding="utf-8", errors="replace")

    def token(self) -> str:
        """A token of the owner, who is made by command: nobody goes through the first page."""
        made = [sys.executable, "manage.py", "user", "owner", "owner"]
        subprocess.run(made, cwd=ROOT, env=self.environment, capture_output=True, check=True)
        command = [sys.executable, "manage.py", "api-token", "owner"]
        done = subprocess.run(
            command, cwd=ROOT, env=self.environment, capture_output=True, text=True, check=True
        )
        return done.stdout.split()[-1]


class Lost(Exception):
    """No answer came: whether it was done is not known."""


@dataclass
class Caller:
    """A program with a token, on a connection for each call."""

    port: int
    token: str
    seconds: float = 60.0

    def get(self, path: str) -> Any:
        status, answer = self.call("GET", path)
        assert status == 200, (path, status, answer)
        return answer

    def post(self, path: str, body: Any, *, key: str = "") -> tuple[int, Any]:
        return self.call("POST", path, body, {"Idempotency-Key": key} if key else {})

    def call(
        self, verb: str, path: str, body: Any = None, headers: dict[str, str] | None = None
    ) -> tuple[int, Any]:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=self.seconds)
        sent = {"Authorization": f"Bearer {self.token}", "Content-Type": "application/json"}
        try:
            raw = body if body is None or isinstance(body, bytes) else json.dumps(body)
            connection.request(verb, f"/api/v1/{path}", raw, sent | (headers or {}))
            answer = connection.getresponse()
            return answer.status, json.loads(answer.read())
        except (OSError, http.client.HTTPException, ValueError) as error:
            raise Lost(f"{verb} {path}: {error!r}") from None
        finally:
            connection.close()
