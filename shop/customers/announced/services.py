"""Announcing a unit, changing what was said, and what becomes of it when the unit is here."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _

from shop.accounts import roles
from shop.customers.announced.models import Announcement
from shop.customers.fields import READ
from shop.customers.links import tokens
from shop.jobs.models import Job
from shop.lib import text
from shop.lib.customer_words import field_name
from shop.lib.refusals import BadInput, Refused, bad, refuse
from shop.lib.text import quoted
from shop.preferences import current as preferences

OF_UNIT = ("make", "model", "serial", "complaint")
PERSONAL = ("name", "email", "phone", "address", "contact_by", "language")
OF_PARCEL = ("carrier", "tracking")
FIELDS = (*OF_UNIT, *PERSONAL, "agreed_to_mail", *OF_PARCEL, "expected_on")
_LONGEST = {"make": 120, "model": 120, "serial": 120, "complaint": 4000}
_LONGEST |= {"carrier": 200, "tracking": 200}
_FARTHEST = timedelta(days=366)


def announce(given: Mapping[str, Any], *, by: User, at: datetime) -> Announcement:
    """Take down what is known of a unit that is to come, and return it.

    With nothing of the unit it is a link to be filled by the customer. BadInput names every field
    that is wrong, or says that all are empty.
    """
    roles.require(by, "receive")
    row = Announcement(made_at=at, made_by=by, nonce=tokens.nonce(), expires_at=_until(at))
    _fill(row, given, at)
    if not (row.said_at or row.who):
        raise bad("make", _("Nothing is said yet: name the unit, or whose it is."))
    row.save(force_insert=True)
    return row


def change(key: int, given: Mapping[str, Any], *, by: User, at: datetime) -> Announcement:
    """Change what is given; the customer's link works anew for its days. Refused once it is here."""
    roles.require(by, "receive")
    with transaction.atomic():
        row = _open(key)
        _fill(row, given, at)
        row.expires_at = _until(at)
        row.save()
    return row


def say(key: int, given: Mapping[str, Any], *, at: datetime) -> Announcement:
    """Take down what the customer says by link. BadInput without make, model and complaint."""
    with transaction.atomic():
        row = _open(key)
        _fill(row, given, at)
        if not (row.unit or row.complaint):
            words = _("Please say what comes: its make, its model, or what is wrong with it.")
            raise bad("make", words)
        row.by_customer_at = at
        row.save()
    return row


def drop(key: int, *, by: User) -> None:
    """Take an announcement away, with all that was said in it: the unit does not come."""
    roles.require(by, "receive")
    with transaction.atomic():
        _open(key).delete()


def become(key: int, job: Job) -> Announcement:
    """Note that the unit is here as this job, and take away what is personal.

    In the transaction that received it. Refused when it became a job before, or was dropped.
    """
    row = _open(key)
    for name in (*PERSONAL, "complaint"):
        setattr(row, name, "")
    row.agreed_to_mail, row.job = False, job
    row.save()
    return row


def _open(key: int) -> Announcement:
    row = Announcement.objects.select_for_update().filter(pk=key).first()
    if row is None:
        raise refuse("dropped", _("This announcement is gone: somebody took it away."))
    if row.job_id is not None:
        raise AlreadyReceived(row.job_id)
    return row


class AlreadyReceived(Refused):
    """What was announced is here; `number` is its job."""

    def __init__(self, number: int) -> None:
        self.number = number
        super().__init__(
            refuse(
                "received", _("It is here already, as job {number}.").format(number=number)
            ).refusals
        )


def _until(at: datetime) -> datetime:
    return at + timedelta(days=preferences.value("link_days"))


def _fill(row: Announcement, given: Mapping[str, Any], at: datetime) -> None:
    """Set the fields that are given; BadInput names all that are wrong at once."""
    problems: list[tuple[str, str]] = []
    for name in FIELDS:
        if given.get(name) is None:
            continue
        try:
            setattr(row, name, _read(name, given[name], at))
        except BadInput as error:
            problems += error.problems
    if problems:
        raise BadInput(problems)
    if row.said_at is None and (row.unit or row.serial or row.complaint):
        row.said_at = at


def _read(name: str, value: Any, at: datetime) -> Any:
    if name == "agreed_to_mail":
        return bool(value)
    if name == "expected_on":
        return _day(value, at)
    if name in _LONGEST:
        return text.take(name, value, _LONGEST[name])
    return READ[name](name, value)


def _day(value: str | date, at: datetime) -> date | None:
    """Read the day on which it is expected: a year from now at most, either way."""
    if not value:
        return None
    try:
        day = value if isinstance(value, date) else date.fromisoformat(value)
    except ValueError:
        raise _no_day(str(value)) from None
    if abs(day - at.date()) > _FARTHEST:
        raise _no_day(str(value))
    return day


def _no_day(given: str) -> BadInput:
    words = _("{field} is {value}; write a day within a year, like 2031-03-12.")
    sentence = words.format(field=field_name("expected_on"), value=quoted(given))
    return bad("expected_on", sentence)
