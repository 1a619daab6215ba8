"""House rules: a draft, then an edition in force; never less than the shipped pack asks."""

from __future__ import annotations

import pytest
from django.conf import settings
from django.core import checks
from django.utils import timezone

from checklists import house, published
from checklists.engine.derive import derive
from checklists.engine.pack import PackError
from checklists.models import HouseEdition
from tests.helpers_plain import amplifier

SHIPPED = settings.PACK_FOLDER

pytestmark = pytest.mark.django_db

STEP = {
    "key": "house-look",
    "title": "Look again",
    "instruction": "Look at it again.",
    "phase": "release",
    "gate": "release",
    "hold": True,
    "source": "common practice",
}
RULE = {
    "id": "house-look",
    "when": "true",
    "require": ["house-look"],
    "because": "The house wants it.",
    "source": "common practice",
}


def revised(**tables):
    change = lambda content: house.with_tables(content, **tables)  # noqa: E731
    return house.revise(change, by="olga", at=timezone.now())


def keys():
    published.refresh()
    return derive(published.current(), amplifier()).by_key.keys()


def test_a_draft_is_not_in_force_until_it_is_published():
    revised(rule=RULE, step=STEP)
    assert house.draft_or_in_force()["rule"] == [RULE]
    assert house.in_force() == {"rule": [], "step": [], "hazard": []}
    assert "house-look" not in keys()

    edition = house.publish(by="olga", at=timezone.now())

    assert (edition.version, str(edition)) == (1, "House rules 1")
    assert house.draft() is None
    assert house.in_force()["step"] == house.draft_or_in_force()["step"] == [STEP]
    assert "house-look" in keys()


def test_the_next_draft_starts_from_what_is_in_force():
    revised(rule=RULE, step=STEP)
    house.publish(by="olga", at=timezone.now())
    other = RULE | {"id": "other", "require": ["touch-current"]}
    draft = revised(rule=other)
    assert (draft.version, draft.changed_by) == (2, "olga")
    assert [rule["id"] for rule in house.draft_or_in_force()["rule"]] == ["house-look", "other"]


def test_a_rule_written_again_takes_the_place_of_the_old_one():
    revised(rule=RULE, step=STEP)
    revised(rule=RULE | {"because": "For a better reason."})
    [rule] = house.draft_or_in_force()["rule"]
    assert rule["because"] == "For a better reason."
    assert HouseEdition.objects.count() == 1


def test_a_rule_alone_leaves_the_steps_as_they_are():
    content = {"rule": [], "step": [STEP]}
    assert house.with_tables(content, rule=RULE, step=None) == {"rule": [RULE], "step": [STEP]}
    assert content == {"rule": [], "step": [STEP]}, "what was handed in is not changed"


def test_a_rule_goes_with_the_steps_that_only_it_required():
    both = {"rule": [RULE, RULE | {"id": "second"}], "step": [STEP], "hazard": []}
    left = house.without_rule(both, "second")
    assert left == {"rule": [RULE], "step": [STEP], "hazard": []}
    none = house.without_rule({"rule": [RULE], "step": [STEP]}, "house-look")
    assert none == {"rule": [], "step": [], "hazard": []}


HAZARD = {
    "key": "house-hazard",
    "title": "A hazard of this house",
    "because": "It bit twice.",
    "source": "common practice",
    "possible": "true",
    "on_arrival": True,
    "cleared_by": ["house-look"],
    "meets": ["leave"],
}


def test_a_hazard_of_the_house_is_kept_published_and_up():
    revised(rule=RULE, step=STEP, hazard=HAZARD)
    house.publish(by="olga", at=timezone.now())
    revised(rule=RULE | {"because": "For a better reason."})
    house.publish(by="olga", at=timezone.now())

    assert house.in_force()["hazard"] == [HAZARD]
    published.refresh()
    up = derive(published.current(), amplifier()).up
    assert "house-hazard" in [one.hazard.key for one in up]


def test_a_hazard_goes_with_the_steps_that_alone_clear_it():
    other = HAZARD | {"key": "other", "cleared_by": ["house-look", "touch-current"]}
    content = {"rule": [RULE], "step": [STEP], "hazard": [HAZARD, other]}
    assert house.without_rule(content, "house-look")["hazard"] == [other]
    assert house.without_rule(content, "no-such-rule")["hazard"] == [HAZARD, other]


def test_a_hazard_that_lost_one_of_its_steps_bars_the_change():
    shared = HAZARD | {"cleared_by": ["house-look", "touch-current"]}
    revised(rule=RULE, step=STEP, hazard=shared)
    with pytest.raises(PackError, match="cleared by house-look, which is no step"):
        house.revise(
            lambda content: house.without_rule(content, "house-look"),
            by="olga",
            at=timezone.now(),
        )
    assert house.draft_or_in_force()["hazard"] == [shared]


def test_what_does_not_fit_the_pack_is_not_kept():
    with pytest.raises(PackError, match="requires no-such-step"):
        revised(rule=RULE | {"require": ["no-such-step"]})
    assert house.draft() is None


def test_nothing_is_published_where_there_is_no_draft():
    with pytest.raises(house.NothingToPublish, match="no draft"):
        house.publish(by="olga", at=timezone.now())


def test_a_draft_that_fits_no_longer_is_not_published():
    revised(rule=RULE, step=STEP)
    HouseEdition.objects.update(content={"rule": [RULE | {"when": "unit.colour"}], "step": [STEP]})
    with pytest.raises(PackError, match="undeclared"):
        house.publish(by="olga", at=timezone.now())
    assert house.draft() is not None


def test_rules_that_cannot_be_read_any_more_bar_all_mains():
    HouseEdition.objects.create(
        version=1,
        content={"rule": [RULE | {"when": "unit.colour"}], "step": [STEP]},
        changed_at=timezone.now(),
        changed_by="olga",
        published_at=timezone.now(),
    )
    published.refresh()
    checklist = derive(published.current(), amplifier())

    barred = checklist.by_key["house-rules-unreadable"]
    assert (barred.gate, barred.step.signed_by) == ("first-power", ())
    assert f"rule {RULE['id']}" in barred.step.instruction, "the owner is told which"
    assert "touch-current" in checklist.by_key, "the shipped pack is in force all the same"


def test_a_second_first_draft_is_told_to_try_again(monkeypatch):
    revised(rule=RULE, step=STEP)
    newest = HouseEdition.objects.select_for_update().none()
    monkeypatch.setattr(HouseEdition.objects, "select_for_update", lambda: newest)
    with pytest.raises(house.DraftTaken, match="try again"):
        revised(rule=RULE, step=STEP)


def test_the_edition_in_force_is_looked_up_again_after_a_while(monkeypatch):
    clock = iter([0.0, 0.0, 1.0, 9.0, 9.0])
    monkeypatch.setattr("checklists.published.time.monotonic", lambda: next(clock))
    published.refresh()
    plain = published.current().digest
    HouseEdition.objects.create(
        version=1,
        content={"rule": [RULE], "step": [STEP]},
        changed_at=timezone.now(),
        published_at=timezone.now(),
    )
    assert published.current().digest == plain, "known for two seconds"
    assert published.current().digest != plain


def test_a_pack_that_cannot_be_used_stops_every_command(settings, tmp_path):
    settings.PACK_FOLDER = tmp_path
    errors = checks.run_checks(tags=["checklists"])
    assert {error.id for error in errors} == {"checklists.E001"}
    assert "no pack here" in errors[0].msg
    settings.PACK_FOLDER = SHIPPED
    assert checks.run_checks(tags=["checklists"]) == []
