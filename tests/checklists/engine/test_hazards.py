from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklists import published
from checklists.engine.derive import derive
from checklists.engine.hazards import clearing, is_up
from checklists.engine.history import Event, History
from tests.checklists.engine.packs import hazard, hold, load, rule
from tests.checklists.engine.strategies import fact_sets

RAIL = "unit.rail_volts > 30.0"
MAINS = 'raised_by = ["power_applied"]'
POWER = Event(sequence=1, event_type="power_applied", power="limited")


def small(folder, *hazards, own=""):
    """A pack of two hold steps and these hazards; the rules ask neither step of anybody."""
    steps = (hold("a"), hold("b"), rule("never", "false", "a", "b"))
    more = (rule("own", "true", "own"), own) if own else ()
    return load(folder, *steps, *more, *hazards)


def signed(pack, facts, history, key, sequence, result="pass"):
    """Return the sign-off of a step as it is listed now."""
    content_hash = derive(pack, facts, History.of(history)).by_key[key].content_hash
    return Event(
        sequence=sequence,
        event_type="step_signed",
        step=key,
        result=result,
        content_hash=content_hash,
    )


def up(pack, facts, *events):
    return [one.hazard.key for one in derive(pack, facts, History.of(events)).up]


def recorded(sequence, name, value):
    return Event(sequence=sequence, event_type="fact_recorded", fact=name, value=value)


class TestOnArrival:
    @pytest.mark.parametrize(
        ("facts", "is_there", "certain"),
        [
            ({"unit.rail_volts": 75.0}, True, True),
            ({}, True, False),
            ({"unit.rail_volts": 20.0}, False, None),
        ],
    )
    def test_it_is_up_where_it_is_or_may_be_possible(self, tmp_path, facts, is_there, certain):
        pack = small(tmp_path, hazard("charged", "a", "hands", possible=RAIL))
        checklist = derive(pack, facts)
        assert [one.hazard.key for one in checklist.up] == (["charged"] if is_there else [])
        assert [one.certain for one in checklist.armed] == ([certain] if is_there else [])
        assert not any(one.raised for one in checklist.armed)

    def test_its_steps_are_on_the_list_though_no_rule_asks(self, tmp_path):
        pack = small(tmp_path, hazard("charged", '["a", "b"]', "hands", possible=RAIL))
        assert derive(pack, {"unit.rail_volts": 75.0}).by_key.keys() == {"a", "b"}
        assert derive(pack, {"unit.rail_volts": 20.0}).by_key.keys() == set()

    def test_the_list_says_which_hazard_asks_and_whether_it_is_sure(self, tmp_path):
        pack = small(tmp_path, hazard("charged", "a", "hands", possible=RAIL))
        [reason] = derive(pack, {"unit.rail_volts": 75.0}).by_key["a"].reasons
        assert (reason.rule.id, reason.text) == ("hazard charged", "Because of charged.")
        assert derive(pack, {}).by_key["a"].undetermined
        assert derive(pack, {}).missing_facts == ["unit.rail_volts"]

    def test_one_that_is_only_raised_is_not_up_before(self, tmp_path):
        pack = small(tmp_path, hazard("charged", "a", "hands", more=MAINS))
        assert up(pack, {}) == []
        assert up(pack, {}, POWER) == ["charged"]


class TestRaised:
    def test_it_sticks_when_smaller_facts_are_typed_later(self, tmp_path):
        pack = small(tmp_path, hazard("charged", "a", "hands", possible=RAIL, more=MAINS))
        before = recorded(0, "unit.rail_volts", 75.0)
        after = recorded(2, "unit.rail_volts", 20.0)
        assert up(pack, {"unit.rail_volts": 20.0}, before, POWER, after) == ["charged"]

    def test_it_sticks_when_nothing_was_known_as_it_was_raised(self, tmp_path):
        pack = small(tmp_path, hazard("charged", "a", "hands", possible=RAIL, more=MAINS))
        after = recorded(2, "unit.rail_volts", 20.0)
        assert up(pack, {"unit.rail_volts": 20.0}, POWER, after) == ["charged"]

    def test_what_was_plainly_impossible_as_it_was_raised_is_not_up(self, tmp_path):
        pack = small(tmp_path, hazard("charged", "a", "hands", possible=RAIL, more=MAINS))
        before = recorded(0, "unit.rail_volts", 20.0)
        assert up(pack, {"unit.rail_volts": 20.0}, before, POWER) == []

    def test_it_comes_up_when_larger_facts_are_typed_later(self, tmp_path):
        pack = small(tmp_path, hazard("charged", "a", "hands", possible=RAIL, more=MAINS))
        before, after = (recorded(0, "unit.rail_volts", 20.0), recorded(2, "unit.rail_volts", 75.0))
        assert up(pack, {"unit.rail_volts": 75.0}, before, POWER, after) == ["charged"]

    def test_what_follows_from_the_record_falls_with_it(self, tmp_path):
        work = 'raised_by = ["work_done"]'
        pack = small(
            tmp_path, hazard("unagreed", "a", "leave", possible="job.beyond_agreed", more=work)
        )
        done = Event(sequence=1, event_type="work_done")
        assert up(pack, {"job.beyond_agreed": True}, done) == ["unagreed"]
        assert up(pack, {}, done) == ["unagreed"], "not known is possible"
        assert up(pack, {"job.beyond_agreed": False}, done) == []

    def test_what_somebody_typed_beside_the_record_sticks(self, tmp_path):
        possible = "complaint.intermittent || job.returned"
        pack = small(
            tmp_path,
            hazard("comes-back", "a", "leave", possible=possible, more='raised_by = ["work_done"]'),
        )
        now = {"complaint.intermittent": False, "job.returned": False}
        before = recorded(0, "complaint.intermittent", True)
        done = Event(sequence=1, event_type="work_done")
        after = recorded(2, "complaint.intermittent", False)
        assert up(pack, now, before, done, after) == ["comes-back"]

    def test_one_that_an_earlier_job_left_up_is_up_whatever_the_facts_say(self, tmp_path):
        pack = small(tmp_path, hazard("charged", "a", "hands", possible=RAIL, more=MAINS))
        carried = Event(sequence=1, event_type="received", carried=frozenset({"charged"}))
        assert up(pack, {"unit.rail_volts": 20.0}, carried) == ["charged"]
        other = Event(sequence=1, event_type="received", carried=frozenset({"another"}))
        assert up(pack, {"unit.rail_volts": 20.0}, other) == []

    def test_what_cannot_be_read_raises_everything_that_an_event_raises(self, tmp_path):
        arrival = hazard("arrival", "b", "hands", possible="false")
        pack = small(tmp_path, hazard("charged", "a", "hands", more=MAINS), arrival)
        assert up(pack, {}, Event(sequence=1, event_type="lamp_lit", unreadable=True)) == [
            "charged"
        ]


class TestCleared:
    @pytest.mark.parametrize(("result", "left"), [("pass", []), ("fail", ["charged"])])
    def test_it_falls_by_its_step_alone(self, tmp_path, result, left):
        pack = small(tmp_path, hazard("charged", "a", "hands", more=MAINS))
        assert up(pack, {}, POWER, signed(pack, {}, [POWER], "a", 2, result)) == left

    def test_a_sign_off_from_before_the_last_raise_clears_nothing(self, tmp_path):
        pack = small(tmp_path, hazard("charged", "a", "hands", more=MAINS))
        early = signed(pack, {}, [POWER], "a", 2)
        again = Event(sequence=3, event_type="power_applied", power="limited")
        assert up(pack, {}, POWER, early, again) == ["charged"]
        assert up(pack, {}, POWER, early, again, signed(pack, {}, [POWER], "a", 4)) == []

    def test_all_of_its_steps_have_to_stand(self, tmp_path):
        pack = small(tmp_path, hazard("charged", '["a", "b"]', "hands", more=MAINS))
        one = signed(pack, {}, [POWER], "a", 2)
        checklist = derive(pack, {}, History.of([POWER, one]))
        assert clearing(checklist.armed[0], checklist) == ["b"]
        assert up(pack, {}, POWER, one, signed(pack, {}, [POWER], "b", 3)) == []

    def test_where_any_clears_one_is_enough_and_only_one_is_listed(self, tmp_path):
        more = f"{MAINS}\nany_clears = true"
        pack = small(tmp_path, hazard("charged", '["a", "b"]', "hands", more=more))
        assert derive(pack, {}, History.of([POWER])).by_key.keys() == {"a"}
        assert up(pack, {}, POWER) == ["charged"]
        assert up(pack, {}, POWER, signed(pack, {}, [POWER], "a", 2)) == []

    @pytest.mark.parametrize("state", ["own alone", "the pack's alone", "both"])
    def test_a_step_of_the_shop_is_asked_beside_those_of_the_table(self, tmp_path, state):
        own = hold("own", more='clears = ["charged"]')
        pack = small(tmp_path, hazard("charged", "a", "hands", more=MAINS), own=own)
        mine, theirs = (signed(pack, {}, [POWER], key, n) for key, n in (("own", 2), ("a", 3)))
        events = {"own alone": [mine], "the pack's alone": [theirs], "both": [mine, theirs]}
        assert up(pack, {}, POWER, *events[state]) == ([] if state == "both" else ["charged"])

    def test_a_step_of_the_shop_that_no_rule_asks_keeps_nothing_up(self, tmp_path):
        own = hold("own", more='clears = ["charged"]')
        rules = (rule("r", "true", "a"), rule("own", "unit.has_laser", "own"))
        charged = hazard("charged", "a", "hands", more=MAINS)
        pack = load(tmp_path, *rules, hold("a"), own, charged)
        sign = signed(pack, {}, [POWER], "a", 2)
        assert up(pack, {"unit.has_laser": False}, POWER, sign) == []
        assert up(pack, {"unit.has_laser": True}, POWER, sign) == ["charged"]

    def test_a_step_that_is_not_listed_clears_nothing(self, tmp_path):
        pack = small(tmp_path, hazard("charged", "a", "hands", more=MAINS))
        without = derive(pack, {})
        one = derive(pack, {}, History.of([POWER])).armed[0]
        assert without.by_key == {}
        assert is_up(one, without)


SHIPPED = published.pack()
RAISING = [
    (hazard_, event)
    for hazard_ in SHIPPED.hazards
    for trigger in hazard_.raised_by
    for event in [
        Event(
            sequence=10,
            event_type=trigger.event_type,
            work=next(iter(sorted(trigger.work)), ""),
            finding=next(iter(sorted(trigger.finding)), ""),
            power=next(iter(sorted(trigger.power)), ""),
            stage=next(iter(sorted(trigger.stage)), ""),
            fact=trigger.fact,
            value=sorted(trigger.values) or None,
        )
    ]
]


def history_of(facts):
    """What people typed, each fact as an event of its own."""
    typed = [name for name in facts if name not in ("findings", "work", "job.cover")]
    return [recorded(n, name, facts[name]) for n, name in enumerate(typed)]


def merged(before, event, after):
    """The facts that the record leads to after the event."""
    facts = before | after
    facts["work"] = [event.work] if event.work else []
    facts["findings"] = [event.finding] if event.finding else []
    return facts | ({event.fact: event.value} if event.fact else {})


@given(fact_sets(), st.sampled_from(RAISING), fact_sets())
def test_what_was_raised_and_not_cleared_is_up_whatever_facts_follow(before, raising, after):
    hazard_, event = raising
    early = [e for e in history_of(before) if e.sequence < 10]
    then = derive(SHIPPED, merged(before, event, {}), History.of([*early, event]))
    late = [Event(sequence=100 + e.sequence, event_type=e.event_type, fact=e.fact, value=e.value)
            for e in history_of(after)]  # fmt: skip
    if hazard_.key in [one.hazard.key for one in then.up] and not hazard_.follows_record:
        facts = merged(before, event, after)
        assert hazard_.key in up(SHIPPED, facts, *early, event, *late)


@given(fact_sets(), st.sampled_from(RAISING))
def test_clearing_needs_a_sign_off_after_the_last_raise(facts, raising):
    hazard_, event = raising
    facts = merged(facts, event, {})
    listed = derive(SHIPPED, facts, History.of([event])).by_key
    keys = [key for key in (*hazard_.cleared_by, *hazard_.also) if key in listed]

    def all_signed(sequence):
        return [
            Event(
                sequence=sequence + n,
                event_type="step_signed",
                step=key,
                result="pass",
                content_hash=listed[key].content_hash,
            )
            for n, key in enumerate(keys)
        ]

    before = up(SHIPPED, facts, event)
    assert up(SHIPPED, facts, *all_signed(1), event).count(hazard_.key) == before.count(hazard_.key)
    assert hazard_.key not in up(SHIPPED, facts, *all_signed(1), event, *all_signed(50))
