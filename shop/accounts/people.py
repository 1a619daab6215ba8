"""Who belongs to the shop: invited by a link, given a role, stopped and taken back.

A link works once and until its day. There is always an owner who can sign in: the last one is
neither stopped nor given another role.
"""

from __future__ import annotations

import hashlib
import secrets
from datetime import datetime, timedelta

from django.contrib.auth.models import Group, User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction
from django.db.models import Q, QuerySet
from django.utils.translation import gettext

from shop.accounts import roles, second_factor
from shop.accounts.models import AccountLink, SignIn
from shop.accounts.sign_in_log import note
from shop.lib.refusals import BadInput, bad, refuse
from shop.lib.text import quoted

INVITATION, NEW_PASSWORD = timedelta(days=7), timedelta(days=1)
LONGEST_TOKEN = 100
OWNER = "owner"
_ENDED = (
    "This link was used, taken back, or is past its day; ask the owner of the shop for another."
)


def invite(name: str, role: str, *, by: User, at: datetime) -> str:
    """Invite somebody and return what stands in their link; an earlier invitation of that name ends."""
    roles.require(by, "persons")
    name = name.strip()
    problems = [*_against_name(name), *_against_role(role)]
    if problems:
        raise BadInput(problems)
    live_links(now=at).filter(person=None, name__iexact=name).update(ended_at=at)
    token = _make(by, at, INVITATION, name=name, role=role)
    note(None, SignIn.INVITED, person=None, name=name, how=f"{role}, by {by.username}")
    return token


def link_to_new_password(person: User, *, by: User, at: datetime) -> str:
    """Return what stands in a link by which a person chooses a new password; earlier ones end.

    The old password works until then, and so does the second factor after it.
    """
    roles.require(by, "persons")
    if not person.is_active:
        raise refuse(
            "stopped",
            gettext("{username} may not sign in; take them back first.").format(
                username=person.username
            ),
        )
    live_links(now=at).filter(person=person).update(ended_at=at)
    token = _make(by, at, NEW_PASSWORD, name=person.username, person=person)
    note(None, SignIn.LINK, person=person, how=f"by {by.username}")
    return token


def _make(
    by: User,
    at: datetime,
    lasts: timedelta,
    *,
    name: str,
    role: str = "",
    person: User | None = None,
) -> str:
    token = secrets.token_urlsafe(32)
    AccountLink.objects.create(
        person=person,
        name=name,
        role=role,
        digest=_digest(token),
        made_at=at,
        made_by=by,
        expires_at=at + lasts,
    )
    return token


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def live_links(*, now: datetime) -> QuerySet[AccountLink]:
    """Return the links that open something now."""
    return AccountLink.objects.filter(ended_at=None, expires_at__gt=now)


def opened(token: str, *, now: datetime) -> AccountLink | None:
    """Return the link of a token; None for one that is wrong, used, taken back or past its day."""
    if len(token) > LONGEST_TOKEN:
        return None
    link = live_links(now=now).filter(digest=_digest(token)).select_related("person").first()
    return link if link and (link.person is None or link.person.is_active) else None


def use(link: AccountLink, password: str, *, at: datetime) -> User:
    """Make the account, or its new password, by a link: once, whoever comes twice.

    BadInput for a password that is too easy; Refused when the link has ended meanwhile.
    """
    try:
        validate_password(password, link.person)
    except ValidationError as error:
        raise bad("password", " ".join(error.messages)) from None
    with transaction.atomic():
        if not live_links(now=at).filter(pk=link.pk).update(ended_at=at):
            raise refuse("link", _ENDED)
        return _joined(link, password) if link.is_invitation else _renewed(link, password)


def _joined(link: AccountLink, password: str) -> User:
    if User.objects.filter(username__iexact=link.name).exists():
        raise refuse(
            "name",
            gettext("Somebody is called {name} here already; ask for another link.").format(
                name=link.name
            ),
        )
    try:
        person = User.objects.create_user(link.name, password=password)
    except IntegrityError:
        raise refuse(
            "name", gettext("Somebody is called {name} here already.").format(name=link.name)
        ) from None
    person.groups.set([Group.objects.get_or_create(name=link.role)[0]])
    note(None, SignIn.JOINED, person=person, how=link.role)
    return person


def _renewed(link: AccountLink, password: str) -> User:
    person = User.objects.select_for_update().get(links=link)
    person.set_password(password)
    person.save(update_fields=["password"])
    note(None, SignIn.PASSWORD, person=person, how="by link")
    return person


def take_back(link: AccountLink, *, by: User, at: datetime) -> bool:
    """End a link that was not used; returns whether it was live."""
    roles.require(by, "persons")
    return bool(live_links(now=at).filter(pk=link.pk).update(ended_at=at))


@transaction.atomic
def change_role(person: User, role: str, *, by: User) -> None:
    """Give a person another role; Refused for the last owner, BadInput for a role that is none."""
    roles.require(by, "persons")
    problems = _against_role(role)
    if problems:
        raise BadInput(problems)
    if role != OWNER:
        _require_another_owner(person)
    person.groups.set([Group.objects.get_or_create(name=role)[0]])
    note(None, SignIn.ROLE, person=person, how=f"{role}, by {by.username}")


@transaction.atomic
def stop(person: User, *, by: User, at: datetime) -> None:
    """Let a person sign in no longer, from this moment on; Refused for the last owner."""
    roles.require(by, "persons")
    _require_another_owner(person)
    User.objects.filter(pk=person.pk).update(is_active=False)
    live_links(now=at).filter(person=person).update(ended_at=at)
    note(None, SignIn.STOPPED, person=person, how=f"by {by.username}")


def take_in_again(person: User, *, by: User) -> None:
    """Let a person sign in again, with the password that they had."""
    roles.require(by, "persons")
    User.objects.filter(pk=person.pk).update(is_active=True)
    note(None, SignIn.BACK, person=person, how=f"by {by.username}")


def forget_second_factor(person: User, *, by: User) -> int:
    """Take away the second factors of a person who lost them; returns how many there were."""
    roles.require(by, "persons")
    return second_factor.remove_all(person, how=f"by {by.username}")


def _require_another_owner(person: User) -> None:
    """Raise Refused where nobody else would be owner; two at once are asked one after the other."""
    group, _ = Group.objects.get_or_create(name=OWNER)
    Group.objects.select_for_update().get(pk=group.pk)
    owners = User.objects.filter(is_active=True).filter(
        Q(groups=group) | Q(is_superuser=True, groups=None)
    )
    others = owners.exclude(pk=person.pk)
    if owners.filter(pk=person.pk).exists() and not any(o.has_usable_password() for o in others):
        raise refuse(
            "last-owner",
            gettext("{username} is the last owner; make somebody else an owner first.").format(
                username=person.username
            ),
        )


def _against_name(name: str) -> list[tuple[str, str]]:
    """Return what is wrong with the name of an account that is to be."""
    try:
        User._meta.get_field("username").run_validators(name)
    except ValidationError:
        shown = quoted(name)
        return [
            (
                "name",
                gettext(
                    "Name is {name}; write letters, figures and @ . + - _ without blanks, 150 at most."
                ).format(name=shown),
            )
        ]
    if not name:
        return [("name", gettext("Name is empty; write what they sign in with."))]
    if User.objects.filter(username__iexact=name).exists():
        return [
            (
                "name",
                gettext("Name is {name}; somebody has it already, write another.").format(
                    name=quoted(name)
                ),
            )
        ]
    return []


def _against_role(role: str) -> list[tuple[str, str]]:
    if role in roles.ROLES:
        return []
    return [
        (
            "role",
            gettext("Role is {role}; write one of {roles}.").format(
                role=quoted(role), roles=", ".join(roles.ROLES)
            ),
        )
    ]
