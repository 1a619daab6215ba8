"""Which edition a block of code follows."""

from __future__ import annotations

import pytest
from django.db import transaction
from django.utils import timezone

from checklists import published
from checklists.models import HouseEdition

RULE = {
    "id": "second-look",
    "when": "true",
    "require": ["touch-current"],
    "because": "The house wants it.",
    "source": "common practice",
}


def store(version=1):
    HouseEdition.objects.create(
        version=version,
        content={"rule": [RULE | {"id": f"look-{version}"}], "step": []},
        changed_at=timezone.now(),
        published_at=timezone.now(),
    )


def rules():
    return {rule.id for rule in published.current().rules if rule.id.startswith("look-")}


pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("steady_rules")]


@pytest.mark.parametrize("awaited", [False, True])
def test_a_block_follows_what_is_stored_at_its_beginning(awaited):
    assert rules() == set()
    store()
    assert rules() == set(), "the process has not looked again"

    with transaction.atomic(), published.as_of_now(awaited=awaited):
        assert rules() == {"look-1"}
        store(2)
        assert rules() == {"look-1"}, "one transaction, one edition"
        published.refresh()
        assert rules() == {"look-1"}, "whatever another thread looks up meanwhile"

    assert rules() == {"look-2"}


def test_a_block_within_a_block_looks_again_and_gives_the_outer_one_back():
    store()
    with published.as_of_now():
        store(2)
        with published.as_of_now():
            assert rules() == {"look-2"}
        assert rules() == {"look-1"}


def test_a_block_that_fails_leaves_nothing_behind():
    assert rules() == set()
    store()
    with pytest.raises(ZeroDivisionError), published.as_of_now():
        1 / 0  # noqa: B018
    assert rules() == set()


def test_without_any_edition_it_is_the_pack_of_the_folders():
    with published.as_of_now():
        assert published.current() is published.pack()
