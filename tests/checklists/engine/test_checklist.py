from __future__ import annotations

import math

import pytest

from checklists.engine import reading_packs
from checklists.engine.derive import derive
from checklists.engine.history import NOTHING_YET, Event, History
from checklists.engine.listed import ListedReading
from checklists.engine.roles import ReadingRole, StepRole
from tests.checklists.engine.packs import ROLES, load, rule, step, write


def reading(low=None, high=None):
    return ListedReading(
        quantity="ohms", title="Ohms", unit="ohm", low=low, high=high, source="x", required=True
    )


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (None, None, "no limit"),
        (None, 0.3, "at most 0.3 ohm"),
        (1, None, "at least 1 ohm"),
        (0, 12.34567, "0 to 12.35 ohm"),
    ],
)
def test_limits_are_told_in_words(low, high, words):
    assert reading(low, high).range == words


@pytest.mark.parametrize(
    ("value", "admitted"),
    [(0, False), (1, True), (2, True), (3, False), (math.nan, False), (-math.inf, False)],
)
def test_a_reading_admits_what_lies_within(value, admitted):
    assert reading(1, 2).admits(value) is admitted


def test_an_open_reading_admits_any_number_and_nothing_else():
    assert reading().admits(1e9)
    assert not reading().admits(math.nan)


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({}, "(not recorded)"),
        ({"unit.has_laser": True}, "yes"),
        ({"unit.has_laser": False}, "no"),
        ({"findings": []}, "none"),
        ({"findings": ["dust-heavy", "joint-cracked"]}, "dust-heavy, joint-cracked"),
        ({"unit.rail_volts": 60.0}, "60 V"),
        ({"unit.year": 1980}, "1980"),
    ],
)
def test_a_reason_quotes_the_facts_it_read(tmp_path, facts, words):
    name = next(iter(facts), "unit.has_laser")
    condition = {"findings": "size(findings) >= 0", "unit.rail_volts": "unit.rail_volts > 0.0"}
    when = condition.get(name, "unit.year > 0" if name == "unit.year" else f"{name} || !{name}")
    quoting = rule("r", when, "a").replace("Because of r.", f"It is {{{name}}}.")
    [reason] = derive(load(tmp_path, quoting, step("a")), facts).steps[0].reasons
    assert reason.text.startswith(f"It is {words}.")


def test_the_step_of_a_role_is_found_where_a_rule_requires_it(tmp_path):
    on_lasers = ROLES.replace("when = 'false'", "when = 'unit.has_laser'")
    pack = reading_packs.load(write(tmp_path, on_lasers))

    soak = derive(pack, {"unit.has_laser": True}).with_role(StepRole.SOAK)
    assert soak.reading_with_role(ReadingRole.HIGHEST_SINK).high == 80
    with pytest.raises(KeyError):
        soak.reading_with_role(ReadingRole.COUNT)
    assert derive(pack, {"unit.has_laser": False}).with_role(StepRole.SOAK) is None


def test_revalidated_is_what_deriving_anew_gives(tmp_path):
    ended = 'ended_by = ["work_done"]'
    pack = load(tmp_path, rule("r", "true", "a", "b"), step("a", ended), step("b"))
    before = derive(pack, {})
    signed = Event(
        sequence=1,
        event_type="step_signed",
        step="a",
        result="pass",
        content_hash=before.by_key["a"].content_hash,
    )
    once, twice = History.of([signed]), History.of([signed, WORK])

    assert [s.state for s in before.revalidate(once).steps] == ["signed", "due"]
    assert before.revalidate(once).steps == derive(pack, {}, once).steps
    again = before.revalidate(once).revalidate(twice)
    assert [s.state for s in again.steps] == ["ended", "due"]
    assert again.steps == derive(pack, {}, twice).steps
    assert before.revalidate(once).revalidate(NOTHING_YET).steps == before.steps


WORK = Event(sequence=2, event_type="work_done")


def test_the_fact_that_settles_most_is_asked_for_first(tmp_path):
    pack = load(
        tmp_path,
        rule("one", "unit.has_laser", "a"),
        rule("two", "unit.moving_parts", "b", "c"),
        rule("own", "job.returned", "d"),
        step("a"),
        step("b"),
        step("c"),
        step("d"),
    )
    assert derive(pack, {}).missing_facts == ["unit.moving_parts", "unit.has_laser"]
