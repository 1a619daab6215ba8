"""What follows from the steps that stand is shared between lists: never by two that differ."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from checklists import published
from checklists.engine import exposures, hazards
from checklists.engine.checklist import Checklist
from checklists.engine.derivation_cache import MOST_POSITIONS
from checklists.engine.derive import derive
from checklists.engine.history import Event, History
from checklists.engine.pack import Pack
from checklists.engine.words import EXPOSURES
from tests.checklists.engine.packs import hazard, hold, load, rule
from tests.helpers_plain import examples
from tests.jobs.next_act.units import facts

PACK = published.pack()
CAME = [Event(sequence=1, event_type="received"), Event(sequence=2, event_type="cover_removed")]


def history_of(checklist: Checklist, results: dict[str, str], opened: bool) -> History:
    rows = [
        Event(
            sequence=10 + n,
            event_type="step_signed",
            step=key,
            result=result,
            content_hash=checklist.by_key[key].content_hash,
        )
        for n, (key, result) in enumerate(results.items())
    ]
    return History.of([*CAME[: 1 + opened], *rows])


def charged(folder: Path, gate_of_b: str) -> Pack:
    raised = 'on_arrival = true\nraised_by = ["received"]'
    return load(
        folder,
        rule("r", "true", "a", "b"),
        hold("a", "hands-in"),
        hold("b", gate_of_b),
        hazard("charged", "a", "hands", more=raised),
    )


def asked_one_by_one(checklist: Checklist) -> dict[str, set[str]]:
    """Return the steps in the way of each exposure, from the table and the gates alone."""
    found = {}
    for exposure in EXPOSURES:
        up = [one for one in checklist.armed if hazards.is_up(one, checklist)]
        meets = [one for one in up if exposure in hazards.met(one, checklist)]
        steps = {key for one in meets for key in (*one.hazard.cleared_by, *one.hazard.also)}
        found[exposure] = {s.key for s in checklist.steps if s.key in steps and not s.stands}
    return found


@settings(max_examples=examples(60))
@given(facts(), st.data())
def test_a_list_says_what_it_would_say_if_nothing_were_shared(given_facts, data):
    for opened in (False, True):
        unsigned = derive(PACK, given_facts, history_of(derive(PACK, given_facts), {}, opened))
        keys = st.sampled_from(sorted(unsigned.by_key))
        results = st.dictionaries(keys, st.sampled_from(["pass", "fail", "not-applicable"]))
        for signed in data.draw(st.lists(results, min_size=2, max_size=4)):
            checklist = derive(PACK, given_facts, history_of(unsigned, signed, opened))
            assert [one.key for one in checklist.steps if one.stands] == [
                one.key for one in checklist.steps if one.key in checklist.standing
            ]
            open_holds = [one for one in checklist.steps if one.step.hold and not one.stands]
            assert checklist.holds_open == len(open_holds)
            met = asked_one_by_one(checklist)
            for exposure in EXPOSURES:
                against = exposures.against(exposure, checklist)
                assert all(checklist.by_key[h.step.key] is h.step for h in against)
                by_hazards = {h.step.key for h in against if h.hazard}
                if exposure != "hand-back":
                    assert by_hazards == met[exposure]
                gates = exposures.gates_of(exposure, checklist)
                at_gates = {one.key for one in open_holds if one.gate in gates}
                assert {h.step.key for h in against} >= by_hazards
                cleared = {
                    key
                    for key in at_gates
                    if any(h.any_clears for h in PACK.hazards_cleared_by(key))
                    or (exposure == "leave" and checklist.by_key[key].step.of_the_bench)
                }
                assert at_gates - {h.step.key for h in against} <= cleared


def test_two_lists_of_one_unit_with_other_steps_signed_are_told_apart(tmp_path):
    pack = charged(tmp_path, "hands-in")
    nothing = derive(pack, {}, History.of(CAME[:1]))
    only_b = derive(pack, {}, history_of(nothing, {"b": "pass"}, False))
    both = derive(pack, {}, history_of(nothing, {"a": "pass", "b": "pass"}, False))
    failed = derive(pack, {}, history_of(nothing, {"a": "fail", "b": "pass"}, False))

    def hands(checklist: Checklist) -> list[tuple[str, bool, str]]:
        found = exposures.against("hands", checklist)
        return [(h.step.key, h.hazard is not None, h.step.state) for h in found]

    for _ in range(2):
        assert hands(nothing) == [("a", True, "due"), ("b", False, "due")]
        assert hands(only_b) == [("a", True, "due")]
        assert hands(failed) == [("a", True, "failed")]
        assert hands(both) == []
    assert exposures.asked(("hands", "leave"), both) == []


def test_what_is_kept_is_bounded(tmp_path):
    many = 10
    pack = load(
        tmp_path,
        rule("r", "true", *(f"s{n}" for n in range(many))),
        *(hold(f"s{n}", "hands-in") for n in range(many)),
    )
    unsigned = derive(pack, {}, History.of(CAME[:1]))
    for signed in range(2**many):
        keys = {f"s{n}": "pass" for n in range(many) if signed >> n & 1}
        checklist = derive(pack, {}, history_of(unsigned, keys, False))
        left = [f"s{n}" for n in range(many) if not signed >> n & 1]
        assert [h.step.key for h in exposures.against("hands", checklist)] == left
    assert len(unsigned.listing.unit.cache.positions) <= MOST_POSITIONS < 2**many


def test_a_pack_that_was_read_again_asks_for_the_same(tmp_path):
    parts = (
        rule("r", "true", "a", "b"),
        hold("a", "hands-in"),
        hold("b", "hands-in"),
        hazard("charged", '["a", "b"]', "leave", more="on_arrival = true\nany_clears = true"),
    )
    once, again = (load(tmp_path / name, *parts) for name in ("once", "again"))
    assert once.digest == again.digest
    assert derive(once, {}, History.of(CAME)).up
    asked = exposures.against("hands", derive(again, {}, History.of(CAME)))
    assert [h.step.key for h in asked] == ["a", "b"]


def test_a_look_at_a_part_of_a_list_changes_nothing_for_the_whole(tmp_path):
    pack = charged(tmp_path, "open-up")
    whole = derive(pack, {}, History.of(CAME[:1]))
    part = replace(whole, steps=tuple(one for one in whole.steps if one.key == "b"))
    assert exposures.against("hands", part) == []
    assert (part.unmet("hands-in"), [one.key for one in part.unmet("open-up")]) == ([], ["b"])
    again = derive(pack, {}, History.of(CAME[:1]))
    assert [h.step.key for h in exposures.against("hands", again)] == ["a"]
    assert [one.key for one in exposures.asked(("hands", "cover-off"), again)] == ["a", "b"]
