"""`manage.py quickstart`: everything on one machine, with one command."""

from __future__ import annotations

import os
import secrets
import socket
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth.models import User
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import DEFAULT_DB_ALIAS, connection
from django.utils import timezone

from shop.accounts import roles
from shop.demo import units
from shop.jobs.models import Job
from shop.lib import own_certificate
from shop.pages.first_run import door
from shop.preferences import changing, current
from shop.preferences.models import SettingChange
from shop.site import places, reach, running


class Command(BaseCommand):
    """Migrates, fills in the demo, serves pages and worker; SIGTERM or Ctrl-C ends all of it."""

    help = "Start Benchtag on this machine, with a demo shop unless --empty."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("--port", type=int, default=8000)
        parser.add_argument("--bind", help="address to listen on (127.0.0.1; with --https all)")
        parser.add_argument(
            "--https", action="store_true", help="with a certificate of this machine's own"
        )
        parser.add_argument("--empty", action="store_true", help="a shop of your own, no demo")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run until told to stop."""
        https = options["https"]
        bind = options["bind"] or ("0.0.0.0" if https else "127.0.0.1")
        place = reach.Place(bind, options["port"], https)
        _require_free(bind, place.port)
        if not connection.introspection.table_names():
            self.stdout.write("Preparing the database: the first start takes a minute ...")
            self.stdout.flush()
        call_command("migrate", verbosity=0)
        call_command("check", databases=[DEFAULT_DB_ALIAS])
        sign_in = _empty_shop(place) if options["empty"] else _accounts()
        if not options["empty"] and _password_file().exists() and not Job.objects.exists():
            self.stdout.write("Writing the demo shop ...")
            units.write()
        _remember_address(place)
        environment = _environment(place)
        if places.WORKING_FOLDER is not None:
            os.chdir(places.WORKING_FOLDER)
        running.become(
            running.Plan(
                children=_children(place),
                ready=f"{place.inner_address}/healthz/ready",
                authority=str(_certificate().authority) if https else "",
                greeting="\n".join(self._greeting(place, sign_in)),
            ),
            environment,
        )

    def _greeting(self, place: reach.Place, sign_in: str) -> Iterator[str]:
        yield f"\nBenchtag is at {_typed_address(place)}/"
        yield sign_in
        if place.on_network:
            yield from self._network_greeting(place)
        else:
            yield "For a phone on this network: --https"
        yield "Ctrl-C ends it."

    def _network_greeting(self, place: reach.Place) -> Iterator[str]:
        if not place.https:
            yield "Anybody on this network can reach it, over plain http."
        else:
            yield f"First on each phone: {place.address}/trust/"
            yield f"SHA-256 of its certificate: {_certificate().fingerprint()}"
            if (named := place.named_address()) is not None:
                yield f"Passkeys want a name: {named}/ where the network knows it."
        if self.stdout.isatty():
            yield reach.code(f"{place.address}/")


def _certificate() -> own_certificate.Files:
    return own_certificate.in_folder(settings.DATA)


def _behind_proxy(place: reach.Place) -> bool:
    """Whether somebody else serves https, so that nobody here knows the address but the setting."""
    return bool(settings.HTTPS) and not place.https


def _typed_address(place: reach.Place) -> str:
    return str(current.value("address")) if _behind_proxy(place) else place.address


def _remember_address(place: reach.Place) -> None:
    """Let links and labels lead where the pages are, unless a person has decided on the address."""
    if _behind_proxy(place):
        return
    stands = current.in_force("address")
    last = SettingChange.objects.filter(name="address").last()
    by_a_person = last is not None and last.by and stands.source == "page"
    if not (stands.fixed or by_a_person or stands.text == place.address):
        changing.change({"address": place.address}, by="", at=timezone.now())


def _environment(place: reach.Place) -> dict[str, str]:
    """Return what the children are started with; with https, the certificate is there then."""
    environment = {**os.environ, "BENCHTAG_DATA": str(settings.DATA)}
    # Reachable from other machines only when asked for, and then under any name of this one.
    if place.on_network and not os.environ.get("BENCHTAG_HOSTS"):
        environment["BENCHTAG_HOSTS"] = "*" if place.bind in reach.EVERYWHERE else place.bind
    if place.https:
        environment |= {"BENCHTAG_HTTPS": "yes", "BENCHTAG_OWN_CERTIFICATE": "yes"}
        names = ["localhost", *filter(None, [reach.local_name()])]
        addresses = sorted({"127.0.0.1", "::1", place.host} - {"localhost"})
        try:
            _certificate().provide(names, addresses, timezone.now())
        except own_certificate.NoCertificate as error:
            raise CommandError(str(error), returncode=2) from None
    return environment


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


def _empty_shop(place: reach.Place) -> str:
    """Return where an empty shop is set up, or how to sign in to one that is."""
    if _password_file().exists():
        raise CommandError(
            f"The demo shop is in {settings.DATA}; name another folder for yours with --data DIR.",
            returncode=2,
        )
    if User.objects.exists():
        return _how_to_sign_in()
    return f"Set up your shop at {_typed_address(place)}/first-run/{door.token()}/"


def _how_to_sign_in() -> str:
    """Return it with the password of the first start, where that made one and kept it."""
    names = [role for role in roles.ROLES if User.objects.filter(username=role).exists()]
    if not names or not _password_file().exists():
        return "Sign in with your name and password."
    password = _password_file().read_text(encoding="utf-8")
    return f"Sign in as {' or '.join(filter(None, [', '.join(names[:-1]), names[-1]]))}, password: {password}"


def _password_file() -> Path:
    return Path(settings.DATA) / "sign-in"


def _children(place: reach.Place) -> dict[str, list[str]]:
    # By HTTP/2 a browser sends its cookies one by one, and what stands between would join them wrongly.
    serve = ["granian", "--interface", "asginl", "--workers", "1", "--http", "1"]
    where = ["--host", place.bind, "--port", str(place.port)]
    quiet = ["--no-access-log", "--log-level", "warning"]
    if place.https:
        files = _certificate()
        where += ["--ssl-certificate", str(files.certificate), "--ssl-keyfile", str(files.key)]
    pages = [*serve, *where, *quiet, "--factory", "shop.site.asgi:served"]
    return {
        "page server": [sys.executable, "-m", *pages],
        "worker": [sys.executable, "-m", "shop.site", "watch"],
    }
