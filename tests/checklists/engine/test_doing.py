from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest

from checklists.engine import doing
from checklists.engine.derive import derive
from checklists.engine.history import Event, History
from tests.checklists.engine.packs import load, rule, step

CURED = """
    [[hazard]]
    key = "not-cured"
    title = "Not cured"
    because = "Only hours tell."
    source = "common practice"
    possible = 'true'
    on_arrival = true
    raised_by = [{ event = "work_done", inside = true }, "part_fitted", "cover_removed", "soak_started"]
    cleared_by = ["hours"]
    meets = ["leave"]
"""
NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)
SOAK = {"event_type": "soak_started"}
WORK = {"event_type": "work_done", "work": "joints-reflowed"}


@pytest.fixture
def overtaken(tmp_path):
    pack = load(
        tmp_path,
        rule("all", "true", "hours"),
        step("hours", 'hold = true\ngate = "release"'),
        CURED,
    )

    def by(*events):
        history = History.of(
            Event(sequence=n, at=NOON + timedelta(hours=n), **event)
            for n, event in enumerate(events, 1)
        )
        soak = derive(pack, {}, history).by_key["hours"]
        event = doing.overtaken(soak, history)
        return event and event.sequence

    return by


@pytest.mark.parametrize(
    "later", [WORK, {"event_type": "part_fitted"}, {"event_type": "x", "unreadable": True}]
)
def test_work_after_a_soak_began_ends_what_it_proved(overtaken, later):
    assert overtaken(SOAK, later) == 2


@pytest.mark.parametrize(
    "later",
    [{**WORK, "from_outside": True}, {"event_type": "cover_removed"}, {"event_type": "note_added"}],
)
def test_what_mends_nothing_inside_leaves_it(overtaken, later):
    assert overtaken(SOAK, later) is None


def test_work_before_it_and_a_job_without_a_soak_overtake_nothing(overtaken):
    assert overtaken(WORK, SOAK) is None
    assert overtaken(WORK) is None


def test_the_last_soak_counts_and_one_that_is_withdrawn_does_not(overtaken):
    assert overtaken(SOAK, WORK, SOAK) is None
    gone = {"event_type": "entry_withdrawn", "row": 3}
    assert overtaken(SOAK, WORK, SOAK, gone) == 2


def test_work_told_late_overtakes_a_soak_that_it_was_not_done_before(overtaken):
    late = {**WORK, "done_at": NOON + timedelta(hours=1, minutes=30)}
    assert overtaken(SOAK, late) == 2
    assert overtaken(SOAK, {**late, "done_at": NOON}) is None
