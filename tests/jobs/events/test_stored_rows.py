"""Old ledgers always open: whatever stands in a row, reducing and telling it do not raise."""

from __future__ import annotations

import json
import zipfile
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checklists.engine.vocabulary import FINDINGS, VOCABULARY, WORK
from shop.jobs import events
from shop.jobs.ledger import Row
from shop.jobs.models import Job, Unit
from shop.jobs.trials import trials_of
from tests.jobs.events.rows import row, stored

OLD = Path(__file__).parents[2] / "fixtures" / "before-benchtag" / "bundle.zip"
NOW = datetime(2026, 1, 2, tzinfo=UTC)
NAMES = sorted({name for event in events.EVENTS for name in event.model_fields})
WORDS = st.sampled_from(
    [*NAMES, *VOCABULARY, *FINDINGS[:3], *WORK[:3], "pass", "fail", "yes", "question", "sent-back"]
)
LEAVES = (
    st.none()
    | st.booleans()
    | st.integers(-3, 12)
    | st.integers(-(10**40), 10**40)
    | st.floats()
    | st.text(max_size=8)
    | WORDS
)
ANYTHING = st.recursive(
    LEAVES,
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(WORDS | st.text(max_size=8), inner, max_size=4)
    ),
    max_leaves=8,
)
DATA = st.dictionaries(st.sampled_from(NAMES), ANYTHING, max_size=6)
BODIES = (DATA | ANYTHING).map(json.dumps) | st.text(max_size=20)
TYPES = [*(event.event_type for event in events.EVENTS), "lamp_lit", ""]


def ask_everything(record):
    """Read all that the record has to say, and every row in words."""
    assert record.history.touched in (True, False)
    assert isinstance(record.facts, dict)
    assert record.outstanding_required is not None
    assert record.asked in (True, False)
    trials_of(record)
    for one in record.rows:
        assert all(isinstance(part, str) for part in events.words(one))
        assert isinstance(events.line(one, record), str)
        assert isinstance(events.measured(one), list)


@given(bodies=st.lists(st.tuples(st.sampled_from(TYPES), BODIES), max_size=8))
def test_whatever_stands_in_a_ledger_it_reduces(bodies):
    rows = [
        stored(event_type, place, body) for place, (event_type, body) in enumerate(bodies, start=1)
    ]
    ask_everything(events.reduce(Job(unit=Unit()), rows))


@pytest.mark.parametrize("event_type", TYPES)
@given(body=BODIES)
@settings(max_examples=settings.default.max_examples // 4)
def test_no_type_of_event_stumbles_over_what_is_stored(event_type, body):
    needed = row("part_needed", spec="relay")
    started = row("soak_started", 2)
    ask_everything(events.reduce(Job(unit=Unit()), [needed, started, stored(event_type, 3, body)]))


def old_ledgers():
    with zipfile.ZipFile(OLD) as whole:
        old = json.loads(whole.read("bundle.json"))["tables"]["jobs.ledgerrow"]
    ledgers: dict[int, list[Row]] = {}
    for one in sorted(old, key=lambda one: (one["job_id"], one["sequence"])):
        at = datetime.fromisoformat(one["at"])
        ledgers.setdefault(one["job_id"], []).append(
            stored(one["kind"], one["sequence"], one["body"], at)
        )
    return ledgers


def test_every_ledger_of_an_old_shop_reduces_to_what_it_was():
    ledgers = old_ledgers()
    assert sum(map(len, ledgers.values())) == 1181

    records = {n: events.reduce(Job(unit=Unit()), rows) for n, rows in ledgers.items()}

    for record in records.values():
        ask_everything(record)
        assert not any(event.unreadable for event in record.history.events)
        assert {one.event_type for one in record.rows} <= set(TYPES)
    released = [record for record in records.values() if record.rows[-1].event_type == "released"]
    assert len(released) == 16
    assert {record.soak for record in released} == {"passed"}
    assert [s for r in records.values() for s in r.suspects.values()] == ["confirmed", "raised"]
    assert sum(len(record.needs) for record in records.values()) == 13
    assert sum(need.fitted for record in records.values() for need in record.needs) == 9
    assert {record.estimate for record in records.values()} == {"none", "yes"}


class TestWhatCannotBeReadHolds:
    def reduce(self, *rows):
        return events.reduce(Job(unit=Unit()), rows)

    def test_a_type_that_nobody_knows_is_shown_and_ends_signoffs(self):
        [event] = self.reduce(row("lamp_lit", colour="red")).history.events
        assert (event.event_type, event.unreadable) == ("lamp_lit", True)
        assert events.words(row("lamp_lit", colour="red")) == ["colour: red"]

    def test_data_that_is_no_object_is_shown_as_it_stands(self):
        odd = stored("note_added", 1, "[1, 2")
        assert events.words(odd) == ["unreadable: [1, 2"]

    @pytest.mark.parametrize("event_type", ["work_done", "finding_recorded", "step_signed"])
    def test_a_row_without_its_word_ends_signoffs(self, event_type):
        [event] = self.reduce(row(event_type, note="?")).history.events
        assert event.unreadable

    def test_a_trial_without_an_outcome_counts_as_the_fault(self):
        clean, odd = row("trial_run", fault=False), row("trial_run", 2, fault="no")
        record = self.reduce(clean, odd)
        assert record.clean_trials_run == 0
        assert [trial.fault for trial in record.trials] == [False, True]

    def test_a_soak_without_a_result_has_not_passed(self):
        assert self.reduce(row("soak_started"), row("soak_ended", 2)).soak == "failed"

    def test_a_need_that_cannot_be_read_is_needed(self):
        [need] = self.reduce(row("part_needed", spec=4, required="?")).outstanding_required
        assert (need.spec, need.quantity) == ("a part that cannot be read", 1)

    def test_a_fact_that_cannot_be_read_is_unknown(self):
        known = row("fact_recorded", name="unit.rail_volts", value=30.0)
        odd = row("fact_recorded", 2, name="unit.rail_volts", value={"volts": 60})
        assert "unit.rail_volts" not in self.reduce(known, odd).facts

    def test_an_estimate_that_cannot_be_read_waits_for_its_answer_and_covers_nothing(self):
        need = row("part_needed", spec="relay", required=True)
        sent = row("estimate_sent", 2, needs="all")
        assert self.reduce(need, sent).estimate == "sent"
        yes = self.reduce(need, sent, row("estimate_answered", 3, answer="yes"))
        assert yes.beyond == ["relay"]

    def test_a_limit_that_cannot_be_read_asks_about_every_price(self):
        record = self.reduce(row("limit_agreed", amount="lots"), row("work_done", 2, work="x"))
        assert record.beyond
