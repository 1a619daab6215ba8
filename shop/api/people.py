"""Who belongs to the shop: invited, given a role, a link to a new password, stopped."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import QuerySet
from django.http import Http404, HttpRequest
from django.utils import timezone
from ninja import Router, Status
from pydantic import Field

from shop.accounts import invitation_letters, queries
from shop.accounts import people as accounts
from shop.accounts.models import AccountLink
from shop.accounts.queries import Member
from shop.api import schemas, words
from shop.api.app import person
from shop.api.once import Replay, once

router = Router(tags=["people"])


class PersonOut(schemas.Schema):
    """Somebody of the shop. `role` is empty for none, `active` whether they may sign in."""

    id: int = Field(validation_alias="person.pk")
    name: str = Field(validation_alias="person.username")
    role: str
    active: bool = Field(validation_alias="person.is_active")
    second_factor: bool = Field(validation_alias="factors")
    seen_at: datetime | None


class PersonIn(schemas.Strict):
    """What is to be different; what is left out stays."""

    role: words.RoleWord | None = None
    active: bool | None = None


class InvitationIn(schemas.Strict):
    """Whom to invite; with `email` the link is sent there."""

    name: str
    role: words.RoleWord
    email: str = ""


class LinkOut(schemas.Schema):
    """A link that is out: an invitation with its role, or one to a new password (no role)."""

    id: int
    name: str
    role: str
    made_at: datetime
    expires_at: datetime


class NewLinkOut(schemas.Strict):
    """A link just made, told once. `sent`: the mail server took the letter; `letter` says what it said."""

    name: str
    link: str
    expires_at: datetime
    sent: bool = False
    letter: str = ""


def _person(key: int) -> User:
    found = User.objects.filter(pk=key).first() if key < 2**63 else None
    if found is None:
        raise Http404(f"There is no person {key}.")
    return found


def _again(replay: Replay) -> NewLinkOut:
    raise replay.overtaken("A link is told once; make another with another key.")


@router.get("people/", response=list[PersonOut])
def people(request: HttpRequest) -> list[Member]:
    """List the people of the shop, those who may sign in first."""
    person(request, "persons")
    return queries.members()


@router.patch("people/{int:key}/", response={200: PersonOut, **schemas.REFUSALS})
def change(request: HttpRequest, key: int, payload: PersonIn) -> Member:
    """Give another role, stop (`active` false), or take in again. The last owner stays. All or nothing."""
    by, whom = person(request, "persons"), _person(key)
    with transaction.atomic():
        if payload.role is not None:
            accounts.change_role(whom, payload.role, by=by)
        if payload.active is False:
            accounts.stop(whom, by=by, at=timezone.now())
        elif payload.active:
            accounts.take_in_again(whom, by=by)
    return queries.member(whom)


@router.post("people/{int:key}/link/", response={201: NewLinkOut, **schemas.REFUSALS})
@once(kept=lambda made: made.name, again=_again)
def new_password(request: HttpRequest, key: int) -> Status[NewLinkOut]:
    """Make a link by which they choose a new password within a day; earlier ones end."""
    by, whom, now = person(request, "persons"), _person(key), timezone.now()
    token = accounts.link_to_new_password(whom, by=by, at=now)
    return Status(
        201,
        NewLinkOut(
            name=whom.username,
            link=queries.link_address(request, token),
            expires_at=now + accounts.NEW_PASSWORD,
        ),
    )


@router.delete("people/{int:key}/second-factors/", response={204: None, **schemas.REFUSALS})
def forget_second_factors(request: HttpRequest, key: int) -> Status[None]:
    """Take away the second factors of somebody who lost them."""
    by = person(request, "persons")
    accounts.forget_second_factor(_person(key), by=by)
    return Status(204, None)


@router.get("people/links/", response=list[LinkOut])
def links(request: HttpRequest) -> QuerySet[AccountLink]:
    """List the links that are out; what stands in them is kept nowhere."""
    person(request, "persons")
    return accounts.live_links(now=timezone.now())


@router.post("people/links/", response={201: NewLinkOut, **schemas.REFUSALS})
# A letter takes seconds: nothing is locked meanwhile.
@once(kept=lambda made: made.name, again=_again, at_once=lambda given: True)
def invite(request: HttpRequest, payload: InvitationIn) -> Status[NewLinkOut]:
    """Invite somebody by a link that works once within seven days; with `email` it is sent there."""
    by, now = person(request, "persons"), timezone.now()
    name, to = payload.name.strip(), invitation_letters.read_address(payload.email)
    token = accounts.invite(name, payload.role, by=by, at=now)
    link, ends_at = queries.link_address(request, token), now + accounts.INVITATION
    sent, letter = False, ""
    if to:
        sent, letter = invitation_letters.send(
            to, link, name=name, role=payload.role, ends_at=ends_at
        )
    made = NewLinkOut(name=name, link=link, expires_at=ends_at, sent=sent, letter=letter)
    return Status(201, made)


@router.delete("people/links/{int:key}/", response={204: None, **schemas.REFUSALS})
def end_link(request: HttpRequest, key: int) -> Status[None]:
    """Take a link back; it opens nothing from now on."""
    by = person(request, "persons")
    link = AccountLink.objects.filter(pk=key).first() if key < 2**63 else None
    if link is None:
        raise Http404(f"There is no link {key}.")
    accounts.take_back(link, by=by, at=timezone.now())
    return Status(204, None)
