from __future__ import annotations

from datetime import UTC, datetime, timedelta
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklists.engine.derive import derive
from checklists.engine.history import Event, History, Trigger
from tests.checklists.engine.packs import hold, load, rule

NOON = datetime(2026, 3, 2, 12, tzinfo=UTC)


def event(sequence, kind, **more):
    return Event(sequence=sequence, event_type=kind, **more)


def fact(sequence, name, value):
    return event(sequence, "fact_recorded", fact=name, value=value)


class TestFactsAt:
    HISTORY = History.of(
        [
            fact(1, "unit.rail_volts", 75.0),
            event(2, "work_done", work="joints-reflowed"),
            event(3, "finding_recorded", finding="fuse-wrong"),
            fact(4, "unit.rail_volts", 20.0),
            event(5, "work_done", work="relay-replaced"),
        ]
    )
    NAMES = ("unit.rail_volts", "work", "findings", "unit.kind")
    NOW = {
        "unit.rail_volts": 20.0,
        "work": ["joints-reflowed", "relay-replaced"],
        "findings": ["fuse-wrong"],
        "unit.kind": "mixer",
    }

    @pytest.mark.parametrize(
        ("sequence", "known"),
        [
            (0, {"work": [], "findings": []}),
            (1, {"unit.rail_volts": 75.0, "work": [], "findings": []}),
            (3, {"unit.rail_volts": 75.0, "work": ["joints-reflowed"], "findings": ["fuse-wrong"]}),
            (5, NOW),
        ],
    )
    def test_each_fact_is_as_it_was_known_right_after_a_row(self, sequence, known):
        told = self.HISTORY.facts_at(sequence, self.NAMES, self.NOW)
        assert told == {"unit.kind": "mixer"} | known, "what no event recorded is as it is now"

    def test_only_the_names_that_are_asked_for_are_told(self):
        assert self.HISTORY.facts_at(5, ("unit.kind",), self.NOW) == {"unit.kind": "mixer"}

    def test_words_that_no_event_told_are_as_they_are_now(self):
        assert History().facts_at(1, ("work",), {"work": ["fuse-replaced"]}) == {
            "work": ["fuse-replaced"]
        }
        assert History().facts_at(1, ("work",), {}) == {}


class TestSignOffs:
    def state(self, pack, *events):
        return derive(pack, {}, History.of(events)).by_key["a"].state

    @pytest.fixture
    def pack(self, tmp_path):
        closed = 'needs_cover = "on"\nended_by = ["work_done", "cover_removed"]'
        opened = 'ended_by = ["work_done", "cover_removed"]'
        return load(
            tmp_path,
            rule("r", "true", "a", "inside"),
            hold("a", "release", closed),
            hold("inside", "release", opened),
        )

    def signed(self, pack, sequence, key="a", at=NOON):
        content_hash = derive(pack, {}).by_key[key].content_hash
        row = {"step": key, "result": "pass", "content_hash": content_hash}
        return event(sequence, "step_signed", at=at, **row)

    def test_one_that_was_withdrawn_is_none(self, pack):
        sign = self.signed(pack, 1)
        assert self.state(pack, sign) == "signed"
        assert self.state(pack, sign, event(2, "entry_withdrawn", row=1)) == "due"

    def test_withdrawing_another_row_leaves_it(self, pack):
        rows = (self.signed(pack, 1), event(2, "note_added"), event(3, "entry_withdrawn", row=2))
        assert self.state(pack, *rows) == "signed"

    def test_one_that_was_withdrawn_gives_none_before_it_back(self, pack):
        rows = (self.signed(pack, 1), self.signed(pack, 2), event(3, "entry_withdrawn", row=2))
        assert self.state(pack, *rows) == "due"
        assert self.state(pack, *rows, self.signed(pack, 4)) == "signed"

    @pytest.mark.parametrize(
        ("minutes", "state"),
        [(-1, "signed"), (0, "ended"), (1, "ended"), (None, "ended")],
    )
    def test_late_work_spares_a_test_of_the_closed_unit_that_came_after_it(
        self, pack, minutes, state
    ):
        done_at = None if minutes is None else NOON + timedelta(minutes=minutes)
        late = event(2, "work_done", at=NOON + timedelta(hours=2), done_at=done_at)
        assert self.state(pack, self.signed(pack, 1), late) == state

    def test_late_work_ends_what_was_signed_of_the_inside_whenever_it_was_done(self, pack):
        late = event(2, "work_done", done_at=NOON - timedelta(hours=1))
        history = History.of([self.signed(pack, 1, "inside"), late])
        assert derive(pack, {}, history).by_key["inside"].state == "ended"

    def test_work_of_now_ends_the_test_of_the_closed_unit(self, pack):
        assert self.state(pack, self.signed(pack, 1), event(2, "work_done", at=NOON)) == "ended"

    def test_a_sign_off_without_a_moment_is_spared_by_nothing(self, pack):
        late = event(2, "work_done", done_at=NOON - timedelta(hours=1))
        assert self.state(pack, self.signed(pack, 1, at=None), late) == "ended"


@pytest.mark.parametrize(
    ("last", "failed"),
    [("pass", set()), ("fail", {"a"}), ("not-applicable", set())],
)
def test_what_failed_last_is_known_as_failed(last, failed):
    rows = [event(1, "step_signed", step="a", result="fail")]
    rows.append(event(2, "step_signed", step="a", result=last))
    assert History.of(rows).failed == failed


class TestTouched:
    @pytest.mark.parametrize(
        ("row", "touched"),
        [
            (event(1, "cover_removed"), True),
            (event(1, "work_done", work="joints-reflowed"), True),
            (event(1, "part_fitted"), True),
            (event(1, "work_done", work="fuse-replaced", from_outside=True), False),
            (event(1, "part_fitted", from_outside=True), False),
            (event(1, "finding_recorded", finding="dust-heavy"), False),
            (event(1, "power_applied", power="full"), False),
        ],
    )
    def test_work_from_outside_does_not_open_a_unit(self, row, touched):
        assert History.of([row]).touched is touched

    @pytest.mark.parametrize(("inside", "applies"), [(True, False), (False, True)])
    def test_work_from_outside_ends_all_but_what_hangs_on_the_inside(self, inside, applies):
        outside = event(2, "work_done", work="fuse-replaced", from_outside=True)
        trigger = Trigger(event_type="work_done", inside=inside)
        assert trigger.applies_to(outside) is applies
        assert trigger.applies_to(event(2, "work_done", work="fuse-replaced"))


@pytest.mark.parametrize(
    ("trigger", "hits", "misses"),
    [
        ({"power": {"full"}}, {"power": "full"}, {"power": "limited"}),
        ({"stage": {"opened"}}, {"stage": "opened"}, {"stage": "soaking"}),
        ({"finding": {"fuse-wrong"}}, {"finding": "fuse-wrong"}, {"finding": "fuse-blown"}),
        ({"section": {"supply"}}, {"section": "supply"}, {"section": "display"}),
        ({"section": {"supply"}}, {"section": ""}, {"section": "display"}),
        ({"except_section": {"display"}}, {"section": "supply"}, {"section": "display"}),
        ({"except_section": {"display"}}, {"section": ""}, {"section": "display"}),
        ({"fact": "x", "values": {"a"}}, {"fact": "x", "value": ["b", "a"]}, {"fact": "x", "value": ["b"]}),
        ({"fact": "x", "values": {"a"}}, {"fact": "x", "value": "a"}, {"fact": "y", "value": "a"}),
        ({"fact": "x", "values": {"true"}}, {"fact": "x", "value": True}, {"fact": "x", "value": False}),
        ({"fact": "x"}, {"fact": "x", "value": 3.0}, {"fact": "y", "value": 3.0}),
    ],
)  # fmt: skip
def test_a_trigger_admits_what_it_names_and_nothing_else(trigger, hits, misses):
    narrowed = {n: frozenset(v) if isinstance(v, set) else v for n, v in trigger.items()}
    made = Trigger(event_type="any", **narrowed)
    assert made.applies_to(event(1, "any", **hits))
    assert not made.applies_to(event(1, "any", **misses))
    assert not made.applies_to(event(1, "other", **hits))
    assert made.applies_to(event(1, "other", unreadable=True)), "it could be anything"


class TestWaivers:
    """After a fail a waiver rests on a new look, or is none."""

    FAIL = event(5, "step_signed", step="a", result="fail")

    def waived(self, sequence, look=0):
        return event(sequence, "step_waived", step="a", result="waived", look=look)

    def stands(self, *rows):
        history = History.of(rows)
        last = history.signoffs.get("a", [])
        return bool(last) and last[-1].result == "waived" and "a" not in history.failed

    def test_one_of_a_step_that_never_failed_needs_no_look(self):
        assert self.stands(self.waived(9))
        assert self.stands(event(5, "step_signed", step="a", result="pass"), self.waived(9))

    def test_one_after_a_fail_that_names_nothing_leaves_the_fail(self):
        assert not self.stands(self.FAIL, self.waived(9))
        assert History.of([self.FAIL, self.waived(9)]).failed == {"a"}

    @pytest.mark.parametrize(
        "look",
        [
            fact(7, "unit.offset_limit_millivolts", 75.0),
            event(7, "reading_taken"),
            event(7, "step_signed", step="a", result="fail"),
        ],
    )
    def test_a_reading_a_fact_or_another_try_is_a_new_look(self, look):
        assert self.stands(self.FAIL, look, self.waived(9, look=7))
        assert History.of([self.FAIL, look]).new_looks("a") == [7]

    @pytest.mark.parametrize(
        "look",
        [
            event(7, "note_added"),
            event(7, "reading_taken", unreadable=True),
            event(7, "step_signed", step="b", result="fail"),
            event(7, "work_done", work="adjusted"),
        ],
    )
    def test_anything_else_is_none(self, look):
        assert not self.stands(self.FAIL, look, self.waived(9, look=7))

    def test_a_look_from_before_the_fail_is_old(self):
        assert not self.stands(event(3, "reading_taken"), self.FAIL, self.waived(9, look=3))

    def test_a_look_that_was_withdrawn_takes_the_waiver_along(self):
        rows = (self.FAIL, event(7, "reading_taken"), self.waived(9, look=7))
        assert not self.stands(*rows, event(10, "entry_withdrawn", row=7))

    def test_a_fail_that_was_withdrawn_needs_its_look_all_the_same(self):
        gone = event(6, "entry_withdrawn", row=5)
        assert not self.stands(self.FAIL, gone, self.waived(9))
        assert self.stands(self.FAIL, gone, event(7, "reading_taken"), self.waived(9, look=7))

    def test_a_pass_settles_it_and_one_that_was_withdrawn_does_not(self):
        passed = event(7, "step_signed", step="a", result="pass")
        assert self.stands(self.FAIL, passed, self.waived(9))
        assert not self.stands(
            self.FAIL, passed, event(8, "entry_withdrawn", row=7), self.waived(9)
        )

    def test_the_next_waiver_needs_a_look_of_its_own(self):
        rows = (self.FAIL, event(7, "reading_taken"), self.waived(9, look=7))
        history = History.of([*rows, self.waived(12, look=7)])
        assert [one.sequence for one in history.signoffs["a"]] == [5, 9]
        again = History.of([*rows, event(11, "reading_taken"), self.waived(12, look=11)])
        assert [one.sequence for one in again.signoffs["a"]] == [5, 9, 12]


@given(st.integers(0, 10**9), st.integers(0, 40))
def test_what_ends_a_sign_off_is_the_first_after_it_as_a_walk_over_all_finds(seed, signed_at):
    draw = Random(seed)
    kinds = ("work_done", "night_passed", "power_applied", "plug_doubted", "note_added")
    triggers = tuple(Trigger(event_type=kind) for kind in draw.sample(kinds, 2))
    events = [
        event(
            number // 2,
            draw.choice(kinds),
            unreadable=not draw.randrange(9),
            carried=frozenset({"wet"} if not draw.randrange(9) else ()),
        )
        for number in range(1, 60)
    ]
    history = History.of(events)
    walked = (
        one
        for one in history.others
        if one.sequence > signed_at
        and ("wet" in one.carried or any(trigger.applies_to(one) for trigger in triggers))
    )
    found = history.ends_after(signed_at, triggers, hazards=frozenset({"wet"}))
    assert found is next(walked, None)
