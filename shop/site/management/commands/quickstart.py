"""`manage.py quickstart`: everything on one machine, with one command."""

from __future__ import annotations

import os
import secrets
import signal
import socket
import sys
import time
import urllib.request
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth.models import User
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DEFAULT_DB_ALIAS

from shop.accounts import roles
from shop.demo import units
from shop.jobs.models import Job
from shop.pages.first_run import door
from shop.site.supervisor import Children

START_SECONDS = 60.0


class Command(BaseCommand):
    """Migrates, fills in the demo, serves pages and worker; SIGTERM or Ctrl-C ends all of it."""

    help = "Start Benchtag on this machine, with a demo shop unless --empty."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--bind", default="127.0.0.1", help="address to listen on")
        parser.add_argument("--empty", action="store_true", help="a shop of your own, no demo")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run until told to stop."""
        bind, port = options["bind"], options["port"]
        _require_free(bind, port)
        call_command("migrate", verbosity=0)
        call_command("check", databases=[DEFAULT_DB_ALIAS])
        sign_in = _empty_shop(bind, port) if options["empty"] else _accounts()
        if not options["empty"] and not Job.objects.exists():
            self.stdout.write("Writing the demo shop ...")
            units.write()
        stopping: list[int] = []
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, lambda n, _: stopping.append(n))
        children = Children()
        try:
            _start(children, bind, port)
            _await_ready(children, bind, port, stopping)
            if not stopping:
                self._greet(bind, port, sign_in)
            while not stopping:
                for sentence in children.revive():
                    self.stderr.write(sentence)
                time.sleep(0.2)
        finally:
            children.stop()

    def _greet(self, bind: str, port: int, sign_in: str) -> None:
        self.stdout.write(f"\nBenchtag is at {_address(bind, port)}")
        self.stdout.write(sign_in)
        if bind not in ("127.0.0.1", "localhost", "::1"):
            self.stdout.write("Anybody on this network can reach it, over plain http.")
        self.stdout.write("Ctrl-C ends it.")
        self.stdout.flush()


def _shown(bind: str) -> str:
    return f"[{bind}]" if ":" in bind else bind


def _require_free(bind: str, port: int) -> None:
    if not 0 < port < 65536:
        raise CommandError(f"port is {port}; it must be from 1 to 65535.", returncode=2)
    family = socket.AF_INET6 if ":" in bind else socket.AF_INET
    with socket.socket(family, socket.SOCK_STREAM) as probe:
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((bind, port))
        except OSError as error:
            raise CommandError(
                f"Port {port} on {bind} cannot be used ({error.strerror}); choose one with --port.",
                returncode=2,
            ) from None


def _accounts() -> str:
    """Create the accounts of the demo once, and return how to sign in."""
    if not User.objects.exists():
        password = secrets.token_urlsafe(9)
        file = os.open(_password_file(), os.O_CREAT | os.O_WRONLY | os.O_TRUNC, 0o600)
        with open(file, "w") as fresh:
            fresh.write(password)
        for role in roles.ROLES:
            roles.make_user(role, role, password)
    return _how_to_sign_in()


def _address(bind: str, port: int) -> str:
    return f"http://{_shown(bind)}:{port}/"


def _empty_shop(bind: str, port: int) -> str:
    """Return where an empty shop is set up, or how to sign in to one that is."""
    if User.objects.exists():
        return _how_to_sign_in()
    return f"Set up your shop at {_address(bind, port)}first-run/{door.token()}/"


def _how_to_sign_in() -> str:
    """Return it with the password of the first start, where that made one and kept it."""
    names = [role for role in roles.ROLES if User.objects.filter(username=role).exists()]
    if not names or not _password_file().exists():
        return "Sign in with your name and password."
    password = _password_file().read_text(encoding="utf-8")
    return f"Sign in as {' or '.join(filter(None, [', '.join(names[:-1]), names[-1]]))}, password: {password}"


def _password_file() -> Path:
    return Path(settings.DATA) / "sign-in"


def _start(children: Children, bind: str, port: int) -> None:
    environment = {**os.environ, "BENCHTAG_DATA": str(settings.DATA)}
    hosts = os.environ.get("BENCHTAG_HOSTS", "")
    # Reachable from other machines only when asked for, and then under any name of this one.
    if bind not in ("127.0.0.1", "localhost", "::1") and not hosts:
        environment["BENCHTAG_HOSTS"] = "*" if bind in ("0.0.0.0", "::") else bind
    manage = str(settings.ROOT / "manage.py")
    serve = ["granian", "--interface", "asginl", "--workers", "1"]
    where = ["--host", bind, "--port", str(port), "--no-access-log", "--log-level", "warning"]
    os.chdir(settings.ROOT)
    children.start(
        "page server",
        [sys.executable, "-m", *serve, *where, "--factory", "shop.site.asgi:served"],
        environment,
    )
    children.start("worker", [sys.executable, manage, "watch"], environment)


def _await_ready(children: Children, bind: str, port: int, stopping: list[int]) -> None:
    host = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(bind, bind)
    address = f"http://{_shown(host)}:{port}/healthz/ready"
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline and not stopping:
        ended = children.ended()
        if ended:
            raise CommandError(f"The {ended} did not start; see its message above.")
        try:
            with urllib.request.urlopen(address, timeout=2) as answer:
                if answer.status == 200:
                    return
        except OSError:
            time.sleep(0.2)
    if not stopping:
        raise CommandError("The pages did not come up within a minute.")
