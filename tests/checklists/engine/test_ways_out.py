from __future__ import annotations

import pytest

from checklists.engine.prove import Verdict
from checklists.engine.replay import replay
from checklists.engine.ways_out import WaysOut
from tests.checklists.engine.packs import load, rule, step

HAZARDS = """
    [[hazard]]
    key = "blind"
    title = "Not looked at"
    because = "Nobody looked."
    source = "common practice"
    possible = 'true'
    on_arrival = true
    raised_by = ["cover_removed"]
    cleared_by = ["look"]
    meets = ["limited"]

    [[hazard]]
    key = "untried"
    title = "Untried"
    because = "Nobody tried."
    source = "common practice"
    possible = 'true'
    on_arrival = true
    raised_by = [{ event = "finding_recorded", finding = ["fuse-blown"] }]
    cleared_by = ["try"]
    meets = ["leave"]
"""


def pack_with(folder, look="", when="true", hazards=HAZARDS):
    return load(
        folder,
        rule("all", when, "look", "try", "soak", "clean-trials", "offset"),
        step("look", f'hold = true\ngate = "limited-power"\nneeds_power = ["isolated"]\n{look}'),
        step("try", 'hold = true\ngate = "release"\nneeds_power = ["limited"]'),
        hazards,
    )


def proofs(pack):
    return {proof.id.removeprefix("ways-out/"): proof for proof in WaysOut(pack).check()}


def test_a_unit_that_can_leave_is_proved_with_the_number_of_acts(tmp_path):
    found = proofs(pack_with(tmp_path))
    assert {proof.verdict for proof in found.values()} == {Verdict.PROVED}
    # Limited, full, soak, off, out.
    assert found["released-from-closed"].why == "in 7 acts"


def test_a_step_that_waits_for_what_it_holds_up_is_found(tmp_path):
    pack = pack_with(tmp_path, look='needs_steps = ["try"]')
    found = proofs(pack)
    stuck = found["released-from-closed"]
    assert stuck.verdict is Verdict.REFUTED
    assert "Title of look" in stuck.why
    assert [event["kind"] for event in stuck.events] == ["released"]
    assert replay(pack, {"facts": stuck.facts, "events": list(stuck.events)})[-1].refused


def test_a_step_that_closing_ends_and_that_needs_the_cover_off_is_found(tmp_path):
    hazards = HAZARDS.replace('["cover_removed"]', '["cover_removed", "cover_fitted"]')
    hazards = hazards.replace('meets = ["limited"]', 'meets = ["limited", "leave"]')
    found = proofs(pack_with(tmp_path, look='needs_cover = "off"', hazards=hazards))
    assert found["released-from-open"].verdict is Verdict.REFUTED


@pytest.mark.parametrize("when", ["size(findings) == 0", "!('fuse-blown' in findings)"])
def test_a_pack_whose_most_demanding_unit_is_not_one_is_told(tmp_path, when):
    found = proofs(pack_with(tmp_path, when=when.replace("'", '"')))
    assert found["demanding"].verdict is Verdict.REFUTED
    assert "look" not in found["demanding"].why  # its hazard lists it
    assert "soak" in found["demanding"].why
