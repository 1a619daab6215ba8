from __future__ import annotations

import pytest

from checklists.engine.happenings import HistoryError
from checklists.engine.replay import replay
from tests.checklists.engine.packs import load, rule, step

HAZARDS = """
    [[hazard]]
    key = "charged"
    title = "Charged"
    because = "It keeps its charge."
    source = "common practice"
    possible = '!(unit.supply == "battery")'
    on_arrival = true
    raised_by = ["power_applied"]
    cleared_by = ["dead"]
    meets = ["hands"]

    [[hazard]]
    key = "burnt"
    title = "Burnt"
    because = "It is burnt."
    source = "common practice"
    possible = 'true'
    raised_by = [{ event = "finding_recorded", finding = ["resistor-burnt"] }]
    cleared_by = ["cause"]
    meets = ["limited", "full"]

    [[hazard]]
    key = "untried"
    title = "Untried"
    because = "Nobody has tried it."
    source = "common practice"
    possible = 'true'
    on_arrival = true
    raised_by = ["work_done"]
    cleared_by = ["idle"]
    meets = ["full"]
"""


def hold(key: str, gate: str, power: str, more: str = "") -> str:
    return step(key, f'hold = true\ngate = "{gate}"\nneeds_power = ["{power}"]\n{more}')


@pytest.fixture
def pack(tmp_path):
    return load(
        tmp_path,
        rule("all", "true", "dead", "idle"),
        rule("burnt", '"resistor-burnt" in findings', "cause"),
        hold("dead", "hands-in", "isolated", 'needs_cover = "off"'),
        hold("cause", "limited-power", "isolated"),
        hold("idle", "full-power", "limited"),
        HAZARDS,
    )


ON = {"kind": "power_applied", "power": "limited"}
FULL = {"kind": "power_applied", "power": "full"}
OFF = {"kind": "power_removed"}
OPEN = {"kind": "cover_removed"}
CLOSE = {"kind": "cover_fitted"}
SIGN = {"kind": "sign_all"}
WORK = {"kind": "work_done", "work": "joints-reflowed"}
BURNT = {"kind": "finding_recorded", "finding": "resistor-burnt"}


def refused(pack, *events, facts=None):
    """Return the codes of what stands against each event, in order."""
    told = replay(pack, {"facts": facts or {}, "events": list(events)})
    return [[reason.code for reason in event.refused] for event in told]


def last(pack, *events, facts=None):
    return refused(pack, *events, facts=facts)[-1]


def test_hands_wait_until_it_is_proved_dead(pack):
    assert last(pack, OPEN, WORK) == ["hold"]
    assert last(pack, OPEN, SIGN, WORK) == []


def test_mains_ends_what_was_proved(pack):
    assert last(pack, OPEN, SIGN, ON, OFF, WORK) == ["hold"]
    assert last(pack, OPEN, SIGN, ON, OFF, SIGN, WORK) == []


def test_hands_stay_out_under_mains_and_of_a_closed_unit(pack):
    assert last(pack, OPEN, SIGN, ON, WORK)[0] == "energised"
    assert "wrong-cover" in last(pack, WORK)


@pytest.mark.parametrize(
    ("marks", "codes"),
    [
        ({"before": True}, []),
        ({"board_out": True}, []),
        ({"from_outside": True}, ["inside"]),
        ({"from_outside": True, "work": "fuse-replaced"}, []),
        ({"late": "forgotten", "done_at": "2026-03-02T07:00:00+00:00"}, []),
        ({"late": "forgotten", "done_at": "2026-03-02T11:00:00+00:00"}, ["bad"]),
    ],
)
def test_marked_work_asks_for_no_hand_inside(pack, marks, codes):
    assert last(pack, {**WORK, **marks}) == codes


def test_full_comes_after_the_limiter_but_for_a_unit_that_passed_there(pack):
    assert last(pack, FULL) == ["limiter-first", "hold"]
    assert last(pack, ON, SIGN, FULL) == []
    assert last(pack, ON, SIGN, OFF, FULL) == []
    assert last(pack, ON, SIGN, OFF, OPEN, SIGN, WORK, FULL) == ["limiter-first", "hold"]
    assert last(pack, ON, SIGN, FULL, ON) == ["isolate-first"]


def test_a_hazard_that_comes_up_under_mains_counts_as_live_until_the_plug_is_out(pack):
    told = replay(pack, {"events": [ON, BURNT, OPEN, OFF, OPEN]})
    assert [reason.code for reason in told[1].unplug] == ["hold"]
    assert not told[1].refused
    assert [reason.code for reason in told[2].refused] == ["unplug-first"]
    assert not told[3].refused
    assert not told[4].refused


def test_nothing_is_asked_of_mains_off(pack):
    assert last(pack, ON, BURNT, OFF) == []
    assert last(pack, OFF) == []


def test_a_cover_goes_on_with_mains_off(pack):
    assert last(pack, OPEN, SIGN, ON, CLOSE) == ["energised"]
    assert last(pack, OPEN, SIGN, CLOSE) == []


def test_a_pass_needs_its_state_and_a_fail_none(pack):
    signed = {"kind": "step_signed", "step": "dead", "result": "pass"}
    assert last(pack, signed) == ["wrong-cover"]
    assert last(pack, {**signed, "result": "fail"}) == []
    assert last(pack, OPEN, ON, signed) == ["wrong-power"]
    assert last(pack, OPEN, signed) == []


def test_sign_all_leaves_out_what_it_is_told_to(pack):
    assert last(pack, OPEN, {**SIGN, "except": ["dead"]}, WORK) == ["hold"]


def test_a_withdrawn_sign_off_is_none_and_a_withdrawn_finding_stays_up(pack):
    signed = {"kind": "step_signed", "step": "dead", "result": "pass"}
    assert last(pack, OPEN, signed, {"kind": "entry_withdrawn", "row": 2}, WORK) == ["hold"]
    assert last(pack, OPEN, BURNT, {"kind": "entry_withdrawn", "row": 2}, ON) == ["hold"]


def test_mains_and_cover_are_not_withdrawn(pack):
    assert last(pack, OPEN, {"kind": "entry_withdrawn", "row": 1}) == ["not-withdrawable"]
    assert last(pack, OPEN, {"kind": "entry_withdrawn", "row": 7}) == ["no-row"]


DOUBT = {"kind": "plug_doubted"}


def test_a_plug_in_doubt_is_live_until_it_is_out_and_charged_after(pack):
    assert last(pack, OPEN, SIGN, WORK) == []
    assert "unplug-first" in last(pack, OPEN, SIGN, DOUBT, ON)
    # It is charged again: what proved it dead has ended.
    assert last(pack, OPEN, SIGN, DOUBT, OFF, WORK) == ["hold"]
    assert last(pack, OPEN, SIGN, DOUBT, OFF, SIGN, WORK) == []


def test_a_plug_in_doubt_raises_nothing_that_mains_does_not(pack):
    assert last(pack, BURNT, SIGN, DOUBT, OFF, ON) == []


def test_a_unit_that_is_live_on_the_record_is_not_doubted(pack):
    assert last(pack, ON, DOUBT) == ["live-already"]
    assert last(pack, DOUBT, DOUBT) == ["live-already"]


def test_a_soak_that_ran_is_not_withdrawn(pack):
    ran = [{"kind": "soak_started"}, {"kind": "soak_ended", "result": "fail"}]
    for row in (4, 5):
        gone = {"kind": "entry_withdrawn", "row": row}
        assert last(pack, ON, SIGN, FULL, *ran, gone) == ["not-withdrawable"]


def test_a_unit_that_arrives_open_is_open(pack):
    assert last(pack, {"kind": "received", "open": True}, SIGN, WORK) == []


def test_what_has_left_is_not_touched(pack):
    assert last(pack, {"kind": "withdrawn"}, ON) == ["closed"]


def test_the_soak_runs_closed_at_full_and_is_signed_after_its_hours(pack):
    start = {"kind": "soak_started", "at": "2026-03-02T10:00:00+00:00"}
    end = {"kind": "soak_ended", "result": "pass"}
    assert last(pack, ON, SIGN, start) == ["not-full"]
    assert last(pack, end) == ["no-soak"]
    assert last(pack, ON, SIGN, FULL, start, start) == ["soak-running"]
    assert last(pack, ON, SIGN, FULL, start, OFF, end) == ["no-soak"]
    left = replay(pack, {"events": [ON, SIGN, FULL, start, OFF, {"kind": "released"}]})[-1]
    assert "soak-not-passed" in [reason.code for reason in left.refused]


def test_facts_that_were_given_raise_as_if_recorded(pack):
    assert last(pack, ON, facts={"findings": ["resistor-burnt"]}) == ["hold"]


def test_each_event_is_told_in_sentences(pack):
    told = replay(pack, {"events": [OPEN, WORK, ON]})
    assert told[1].lines() == [
        "Work done (joints-reflowed): refused.",
        "  Refused: Title of dead: Charged. Not signed yet.",
        "  Up: Charged; Untried.",
    ]
    assert told[2].lines()[0] == "Power applied (limited): accepted."


@pytest.mark.parametrize(
    ("history", "sentence"),
    [
        ([], "A history is a table with facts and events."),
        ({}, "events is missing; it is a list."),
        ({"events": [], "fact": {}}, "fact is not known here; use facts, events."),
        ({"events": [{"kind": "jumped"}]}, "Event 1: kind is 'jumped'; it must be one of"),
        ({"events": [{}]}, "Event 1: kind is missing."),
        ({"events": [3]}, "Event 1: is 3; it must be a table."),
        ({"events": [{"kind": "work_done"}]}, "Event 1: work is missing."),
        ({"events": [{**WORK, "late": "x"}]}, "Event 1: A late entry needs late (why)"),
        ({"events": [{**WORK, "wrok": "x"}]}, "Event 1: wrok is not known here"),
        ({"events": [{**ON, "at": "noon"}]}, "Event 1: at is 'noon'; it must be a moment"),
        ({"events": [], "facts": {"unit.kind": "toaster"}}, "unit.kind is 'toaster'"),
        ({"events": [], "facts": 3}, "facts is no table."),
    ],
)
def test_what_cannot_be_read_is_said_in_a_sentence(pack, history, sentence):
    with pytest.raises(HistoryError) as error:
        replay(pack, history)
    assert sentence in str(error.value)


def test_data_of_a_stored_row_may_hold_more_than_matters(pack):
    data = {"work": "joints-reflowed", "minutes": 5, "note": "done"}
    assert last(pack, OPEN, SIGN, {"kind": "work_done", "data": data}) == []


@pytest.mark.parametrize("result", ["pass", "fail", "not-applicable"])
def test_no_step_is_signed_that_is_not_on_the_list(pack, result):
    unlisted = {"kind": "step_signed", "step": "cause", "result": result}
    assert last(pack, unlisted) == ["not-listed"]


def test_a_word_in_data_that_nothing_knows_is_named(pack):
    events = [
        {"kind": "power_applied", "data": {"power": "limited"}},
        {"kind": "work_done", "data": {"work": "joints-reflowed", "form_outside": True}},
    ]
    with pytest.raises(HistoryError) as error:
        replay(pack, {"events": events})
    assert error.value.problems == ["Event 2: form_outside in data is not known here."]


def test_a_step_that_failed_stays_on_the_list_whatever_the_facts_say_since(pack):
    burnt = {"kind": "step_signed", "step": "cause", "result": "fail"}
    passed = {"kind": "step_signed", "step": "cause", "result": "pass"}
    withdrawn = {"kind": "entry_withdrawn", "row": 1}
    assert last(pack, ON) == []
    assert last(pack, BURNT, burnt, withdrawn, OPEN, ON) == ["hold"]
    assert last(pack, BURNT, burnt, withdrawn, passed, OPEN, ON) == []


def test_a_step_does_not_wait_for_itself(tmp_path):
    hazards = HAZARDS.replace('meets = ["limited", "full"]', 'meets = ["hands"]')
    inside = 'needs_cover = "off"'
    steps = [
        hold("dead", "hands-in", "isolated", inside),
        hold("cause", "limited-power", "isolated"),
        hold("idle", "full-power", "limited"),
    ]
    pack = load(tmp_path, rule("all", "true", "dead", "idle", "cause"), *steps, hazards)
    signed = {"kind": "step_signed", "step": "cause", "result": "pass"}
    assert last(pack, OPEN, BURNT, signed) == ["hold"]
    dead = {"kind": "step_signed", "step": "dead", "result": "pass"}
    assert last(pack, OPEN, BURNT, dead, signed) == []
