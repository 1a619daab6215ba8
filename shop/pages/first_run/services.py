"""An empty shop gets its owner and its first settings, in one go."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from django.contrib.auth.models import Group, User
from django.db import transaction
from django.utils.translation import gettext

from shop.accounts import roles
from shop.lib.refusals import refuse
from shop.preferences import changing, countries


@transaction.atomic
def set_up(
    name: str, password: str, texts: Mapping[str, str | None], *, usual: bool, at: datetime
) -> tuple[User, list[str]]:
    """Make the owner and decide about settings; returns who, and what was taken as usual in the country.

    `usual` takes what is usual there for what nobody has decided, and for nothing else. Refused
    once somebody belongs to the shop, of two at once for the second; CannotSet names what cannot
    be taken. All or nothing.
    """
    group, _ = Group.objects.get_or_create(name="owner")
    Group.objects.select_for_update().get(pk=group.pk)
    if User.objects.exists():
        raise refuse("set-up", gettext("This shop has been set up meanwhile; sign in."))
    owner = roles.make_user(name, "owner", password)
    changing.change(texts, by=name, at=at)
    country = (texts.get("country") or "").upper()
    there = countries.undecided(country) if usual else {}
    changing.change(there, by=name, at=at)
    return owner, list(there)
