"""The people of the shop at one moment: two owners who stop each other, one link used twice."""

from __future__ import annotations

from functools import partial

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from shop.accounts import people, roles
from shop.lib.refusals import Forbidden
from tests.races.test_races import ROUNDS, together, unexpected

pytestmark = pytest.mark.django_db(transaction=True)


def test_of_two_owners_who_stop_each_other_one_stays():
    for _ in range(ROUNDS):
        ann, ben = (roles.make_user(name, "owner", "four-words") for name in ("ann", "ben"))
        User.objects.update(is_active=True)
        now = timezone.now()
        results = together(
            partial(people.stop, ann, by=ben, at=now),
            partial(people.change_role, ben, "viewer", by=ann),
        )
        # Whoever comes second is no owner any more, or would be the last one to go.
        assert [one for one in unexpected(results) if not isinstance(one, Forbidden)] == []
        owners = User.objects.filter(is_active=True, groups__name="owner")
        assert owners.count() == 1


def test_a_link_makes_one_account():
    owner = roles.make_user("ann", "owner", "four-words")
    for turn in range(ROUNDS):
        now = timezone.now()
        link = people.opened(people.invite(f"lou{turn}", "desk", by=owner, at=now), now=now)
        results = together(
            partial(people.use, link, "one-of-the-two", at=now),
            partial(people.use, link, "the-other-of-them", at=now),
        )
        assert unexpected(results) == []
        assert User.objects.filter(username=f"lou{turn}").count() == 1
