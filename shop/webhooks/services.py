"""Addresses are added, changed, given another secret, tried, switched on and taken away."""

from __future__ import annotations

import base64
import secrets
from collections.abc import Collection
from datetime import datetime

from cryptography.fernet import InvalidToken
from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from shop.accounts import roles
from shop.jobs.models import LedgerRow
from shop.lib import outgoing
from shop.lib.refusals import bad, refuse
from shop.lib.text import quoted
from shop.preferences.sealing import seal
from shop.webhooks import events
from shop.webhooks.models import Delivery, Endpoint

PURPOSE = "webhook"
MOST_ENDPOINTS = 20
_SECRET_BYTES = 32


def add(
    address: str, wanted: Collection[str], *, private_allowed: bool, by: User, at: datetime
) -> tuple[Endpoint, str]:
    """Add an address; returns it with its secret, which cannot be read again."""
    roles.require(by, "settings")
    if Endpoint.objects.count() >= MOST_ENDPOINTS:
        raise refuse(
            "many",
            _("There are {most_endpoints} addresses already; take one away first.").format(
                most_endpoints=MOST_ENDPOINTS
            ),
        )
    secret = _new_secret()
    endpoint = Endpoint.objects.create(
        address=_address(address),
        events=_events(wanted),
        private_allowed=private_allowed,
        sealed=_sealed(secret),
        made_at=at,
        made_by=by,
        **_from_now(),
    )
    return endpoint, secret


def change(
    endpoint: Endpoint, address: str, wanted: Collection[str], *, private_allowed: bool, by: User
) -> None:
    """Keep another address or other events."""
    roles.require(by, "settings")
    endpoint.address, endpoint.events = _address(address), _events(wanted)
    endpoint.private_allowed = private_allowed
    endpoint.save(update_fields=["address", "events", "private_allowed"])


def new_secret(endpoint: Endpoint, *, by: User) -> str:
    """Return a new secret; from now on messages are signed by it alone."""
    roles.require(by, "settings")
    secret = _new_secret()
    Endpoint.objects.filter(pk=endpoint.pk).update(sealed=_sealed(secret))
    return secret


def secret_of(endpoint: Endpoint) -> str:
    """Return the secret; empty where the key that sealed it is gone."""
    try:
        return seal(PURPOSE).decrypt(endpoint.sealed.encode()).decode()
    except InvalidToken:
        return ""


def switch_on(endpoint: Endpoint, *, by: User, at: datetime) -> None:
    """Tell an address again, of what happens from now on and of what still waits for it."""
    roles.require(by, "settings")
    with transaction.atomic():
        known = Endpoint.objects.select_for_update().get(pk=endpoint.pk)
        if known.disabled_at is not None:
            on = {"disabled_at": None, "failing_since": None, **_from_now()}
            Endpoint.objects.filter(pk=known.pk).update(**on)
            known.deliveries.filter(sent_at=None, given_up_at=None).update(send_after=at)


def send_test(endpoint: Endpoint, *, by: User, at: datetime) -> Delivery:
    """Write a message that says nothing; the worker sends it within a minute."""
    roles.require(by, "settings")
    if endpoint.disabled_at is not None:
        raise refuse("disabled", _("This address is switched off; switch it on first."))
    body = events.body(events.TEST, at.isoformat(), {"words": "A test. Nothing happened."})
    key = f"msg_test_{secrets.token_hex(8)}"
    return Delivery.objects.create(
        endpoint=endpoint, key=key, event=events.TEST, body=body, made_at=at, send_after=at
    )


def remove(endpoint: Endpoint, *, by: User) -> None:
    """Take an address away, with what was told to it."""
    roles.require(by, "settings")
    endpoint.delete()


def _address(address: str) -> str:
    problem = outgoing.problem_of(address.strip())
    if problem:
        raise bad("address", problem[0].upper() + problem[1:])
    return address.strip()


def _events(wanted: Collection[str]) -> list[str]:
    unknown = [name for name in wanted if name not in events.EVENTS]
    if unknown:
        raise bad(
            "events",
            _("events names {unknown}; choose from the list.").format(unknown=quoted(unknown[0])),
        )
    if not wanted:
        raise bad("events", _("Tick what the address is to be told."))
    return [name for name in events.EVENTS if name in wanted]


def _from_now() -> dict[str, int]:
    newest = LedgerRow.objects.aggregate(key=Max("pk"))["key"] or 0
    return {"first_row": newest, "last_row": newest}


def _new_secret() -> str:
    return "whsec_" + base64.b64encode(secrets.token_bytes(_SECRET_BYTES)).decode()


def _sealed(secret: str) -> str:
    return seal(PURPOSE).encrypt(secret.encode()).decode()
