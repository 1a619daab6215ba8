"""Writing outlets down, changing them, and ending what they are enabled for."""

from __future__ import annotations

import math
import ssl
from collections.abc import Mapping
from typing import Any

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from shop.accounts import roles
from shop.lib import text
from shop.lib.refusals import BadInput, bad
from shop.outlets import passwords
from shop.outlets.models import KINDS, MODBUS, MQTT, REPORTS, Outlet

ABILITY = "settings"
# What a connection is made of: a change of it makes another outlet of it, that nobody tested.
_CONNECTION = (
    "kind",
    "host",
    "port",
    "topic",
    "username",
    "sealed_password",
    "tls",
    "authority",
    "unit",
    "first_register",
)
_ENDS = {"port": (1, 65535), "unit": (0, 255), "first_register": (0, 65000)}


def save(outlet: Outlet | None, given: Mapping[str, Any], *, by: User) -> Outlet:
    """Write an outlet down, or change it; BadInput with a sentence for each field that is wrong.

    An empty password keeps the one before. Another connection ends its commissioning.
    """
    roles.require(by, ABILITY)
    kept = outlet or Outlet()
    before = [getattr(kept, name) for name in _CONNECTION]
    _fill(kept, given)
    _require_sensible(kept)
    if outlet is not None and [getattr(kept, name) for name in _CONNECTION] != before:
        kept.edition += 1
        kept.use = REPORTS
    try:
        with transaction.atomic():
            kept.save()
    except IntegrityError:
        raise bad(
            "name", _("name is {name}; another outlet has it.").format(name=kept.name)
        ) from None
    return kept


def _fill(kept: Outlet, given: Mapping[str, Any]) -> None:
    kept.name = text.take("name", given["name"], 60, needed=True)
    kept.kind = given["kind"]
    kept.host = text.take("host", given["host"], 200, needed=True)
    kept.topic = text.take("topic", given.get("topic") or "", 200).strip("/")
    kept.username = text.take("username", given.get("username") or "", 120)
    kept.authority = text.take("authority", given.get("authority") or "", 20_000)
    kept.tls = bool(given.get("tls"))
    kept.port = int(given["port"])
    for name, usual in (("unit", 1), ("first_register", 0)):
        value = given.get(name)
        setattr(kept, name, usual if value is None else int(value))
    kept.least_watts = float(given["least_watts"])
    if given.get("password"):
        kept.sealed_password = passwords.sealed(
            text.take("password", given["password"], 200, needed=True)
        )


def _require_sensible(kept: Outlet) -> None:
    problems = []
    if kept.kind not in KINDS:
        problems.append(
            (
                "kind",
                _("kind is {kind}; it must be {kinds}.").format(
                    kind=kept.kind, kinds=" or ".join(KINDS)
                ),
            )
        )
    for name, (low, high) in _ENDS.items():
        if not low <= getattr(kept, name) <= high:
            problems.append(
                (
                    name,
                    _("{name} is {value}; it must be from {low} to {high}.").format(
                        name=name, value=getattr(kept, name), low=low, high=high
                    ),
                )
            )
    if not (math.isfinite(kept.least_watts) and 0 < kept.least_watts <= 100):
        said = _("least_watts is {least_watts:g}; it must be above 0, and at most 100.").format(
            least_watts=kept.least_watts
        )
        problems.append(("least_watts", said))
    if kept.kind == MQTT:
        problems += _of_mqtt(kept)
    if problems:
        raise BadInput(problems)


def _of_mqtt(kept: Outlet) -> list[tuple[str, str]]:
    problems = []
    if not kept.topic or set(kept.topic) & set("#+\n"):
        said = _("what stands before /state and /enable, without + and #")
        problems.append(
            (
                "topic",
                _("topic is {topic}; write {right}.").format(
                    topic=text.quoted(kept.topic), right=said
                ),
            )
        )
    if kept.authority and not _is_authority(kept.authority):
        problems.append(
            (
                "authority",
                _("authority holds no certificate; paste it as PEM, with its first line."),
            )
        )
    return problems


def _is_authority(pem: str) -> bool:
    try:
        return bool(ssl.create_default_context(cadata=pem).get_ca_certs())
    except (ssl.SSLError, ValueError):
        return False


def against_enables(outlet: Outlet) -> list[str]:
    """Return why an outlet cannot be enabled over its connection, whatever a test shows."""
    if outlet.kind == MODBUS:
        return []
    reasons = []
    if not outlet.tls:
        reasons.append(_("Its connection is not encrypted (TLS)."))
    if not outlet.username or not outlet.sealed_password:
        reasons.append(_("It has no user and password, which the access list of the broker needs."))
    return reasons


def only_report(outlet: Outlet, *, by: User) -> None:
    """End its use with enables: from now on it only reports. Never refused to the owner."""
    roles.require(by, ABILITY)
    Outlet.objects.filter(pk=outlet.pk).update(use=REPORTS)


def delete(outlet: Outlet, *, by: User) -> None:
    """Forget an outlet with its tests."""
    roles.require(by, ABILITY)
    outlet.delete()
