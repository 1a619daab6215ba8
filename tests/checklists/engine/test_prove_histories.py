from __future__ import annotations

from dataclasses import replace

import pytest

from checklists.engine.prove import Verdict
from checklists.engine.prove_histories import HistoryProver
from checklists.engine.replay import replay
from tests.checklists.engine.packs import load, rule, step

HAZARD = """
    [[hazard]]
    key = "laser"
    title = "The laser"
    because = "It blinds."
    source = "common practice"
    possible = 'unit.has_laser'
    on_arrival = true
    raised_by = [
      { event = "work_done", work = ["laser-replaced"], except_section = ["drawer"] },
      { event = "finding_recorded", finding = ["laser-weak"] },
    ]
    cleared_by = ["look", "measure"]
    meets = ["limited"]
"""


def pack_with(folder, hazard=HAZARD, when="unit.has_laser", gate="first-power"):
    hold = f'hold = true\ngate = "{gate}"\nneeds_power = ["isolated"]'
    return load(
        folder,
        rule("laser", when, "look", "measure"),
        step("look", hold),
        step("measure", hold),
        hazard,
    )


def verdicts(pack):
    """Return what is not proved, by what it is about."""
    return {p.id: p for p in HistoryProver(pack).check() if p.verdict is not Verdict.PROVED}


def forget_what_was_derived(monkeypatch):
    """Let what was patched be asked: lists keep what is in the way."""
    monkeypatch.setattr("checklists.engine.derive._CACHES", {})


def test_a_sound_table_is_proved_in_every_part(tmp_path):
    pack = pack_with(tmp_path)
    assert [proof.id for proof in HistoryProver(pack).check()] == [
        "raised/laser",
        "listed/laser/look",
        "listed/laser/measure",
        "asked/laser",
        "falls/laser",
    ]
    assert verdicts(pack) == {}


def test_a_step_that_outlives_what_raises_is_found(tmp_path):
    pack = pack_with(tmp_path)
    outlives = replace(
        pack.steps["measure"], invalidated_by=pack.steps["measure"].invalidated_by[1:]
    )
    broken = replace(pack, steps={**pack.steps, "measure": outlives}, raw={"broken": 1})
    proof = verdicts(broken)["raised/laser"]
    assert proof.why == "measure outlives it"
    assert [event["kind"] for event in proof.events] == ["step_signed", "work_done"]


@pytest.mark.parametrize(
    "when", ['unit.kind == "disc-player"', "unit.has_laser && unit.moving_parts"]
)
def test_a_rule_that_is_narrower_than_the_hazard_is_found_with_a_unit(tmp_path, when):
    proof = verdicts(pack_with(tmp_path, when=when))["listed/laser/look"]
    assert proof.verdict is Verdict.REFUTED
    assert proof.facts is not None


def test_one_step_is_enough_where_any_clears(tmp_path):
    hazard = HAZARD.replace("meets =", "any_clears = true\n    meets =")
    assert verdicts(pack_with(tmp_path, hazard)) == {}


def test_what_only_a_fail_meets_is_proved_too_and_found_when_it_is_not_asked(tmp_path, monkeypatch):
    hazard = HAZARD.replace(
        'meets = ["limited"]', 'meets = ["leave"]\n    meets_failed = ["limited"]'
    )
    pack = pack_with(tmp_path, hazard, gate="release")
    assert "asked-when-failed/laser" in {proof.id for proof in HistoryProver(pack).check()}
    assert verdicts(pack) == {}
    monkeypatch.setattr("checklists.engine.hazards.met", lambda one, _: one.hazard.meets)
    forget_what_was_derived(monkeypatch)
    proof = verdicts(pack)["asked-when-failed/laser"]
    assert proof.why == "limited does not ask for look"
    assert [event["result"] for event in proof.events] == ["fail"]


def test_a_step_that_clears_nothing_is_not_asked(tmp_path, monkeypatch):
    pack = pack_with(tmp_path)
    monkeypatch.setattr("checklists.engine.exposures._meeting", lambda *_: [])
    monkeypatch.setattr("checklists.engine.exposures.gates_of", lambda *_: ())
    forget_what_was_derived(monkeypatch)
    found = verdicts(pack)
    assert found["asked/laser"].why.endswith("does not ask for look")
    assert found["falls/laser"].why == "it may stay up under limited"
    history = {"facts": found["asked/laser"].facts, "events": list(found["asked/laser"].events)}
    assert not any(told.refused for told in replay(pack, history))
