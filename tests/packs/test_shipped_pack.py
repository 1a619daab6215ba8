from __future__ import annotations

import re
from pathlib import Path

import pytest
from django.conf import settings

from checklists import published
from checklists.engine import cases
from checklists.engine.derive import derive
from checklists.engine.vocabulary import VOCABULARY
from checklists.engine.words import EVENTS, GATES
from shop.bench import registry
from tests.helpers import amplifier

PACK = published.pack()
CONTRACT = Path(settings.ROOT).parent / "shared" / "design" / "contract.yaml"

STEPS = [
    "visual-intake",
    "mains-voltage-match",
    "fuse-check",
    "limiter-first-power",
    "unplugged-lead-in-sight",
    "discharge-reservoirs",
    "verify-dead",
    "insulator-isolation",
    "shorts-before-power",
    "bias-to-minimum",
    "limited-idle-current",
    "dc-offset",
    "bias-set-hot",
    "valve-bias",
    "relay-contact-resistance",
    "controls-clean",
    "compound-removed-whole",
    "suppression-class",
    "laser-closed-path",
    "lithium-handling",
    "hot-chassis",
    "switch-mode-primary",
    "touch-current",
    "earth-continuity",
    "insulation-resistance",
    "clean-trials",
    "soak-run",
    "full-function",
    "covers-and-labels",
]


def test_every_promised_step_is_there():
    assert set(STEPS) <= set(PACK.steps)


def test_all_cases_of_the_pack_come_out_as_written():
    verdict = cases.run(PACK, settings.PACK_FOLDER)
    assert verdict.problems == []
    assert verdict.cases >= 60


def test_a_case_that_is_wrong_is_told(tmp_path):
    for file in settings.PACK_FOLDER.glob("*.toml"):
        (tmp_path / file.name).write_bytes(file.read_bytes())
    wrong = tmp_path / "release.cases.toml"
    text = wrong.read_text(encoding="utf-8")
    wrong.write_text(text.replace('"earth-continuity",\n', "", 1), encoding="utf-8")

    assert any("earth-continuity" in problem for problem in cases.run(PACK, tmp_path).problems)


def test_a_rule_without_a_hit_or_a_miss_is_told(tmp_path):
    for file in settings.PACK_FOLDER.glob("*.toml"):
        if file.name != "service.cases.toml":
            (tmp_path / file.name).write_bytes(file.read_bytes())

    problems = cases.run(PACK, tmp_path).problems
    assert "Rule controls-crackle: no case hits it." in problems
    assert "Rule controls-crackle: no case misses it." in problems


@pytest.mark.parametrize("key", sorted(PACK.steps))
def test_every_step_has_what_a_technician_needs(key):
    step = PACK.steps[key]
    assert step.title
    assert step.instruction.endswith(".")
    assert step.source
    if step.hold:
        assert step.gate in GATES
    if step.plan:
        assert step.plan.calculation in registry.CALCULATIONS


@pytest.mark.parametrize("key", STEPS)
def test_promised_steps_have_caution_or_ending(key):
    step = PACK.steps[key]
    assert step.caution or step.ended_by


USUAL_UNITS = {
    "class AB amplifier": amplifier(findings=[], work=[], unit__year=1988),
    "after thermal work": amplifier(findings=[], work=["thermal-interface-renewed"]),
    "valve amplifier": amplifier(
        unit__kind="valve-amplifier",
        unit__output_stage="valve-push-pull",
        unit__rail_volts=420.0,
        findings=[],
        work=["valves-replaced"],
    ),
    "active loudspeaker": amplifier(
        unit__kind="active-loudspeaker",
        unit__supply="switch-mode",
        unit__output_stage="class-d",
        findings=[],
        work=[],
    ),
    "disc player": amplifier(
        unit__kind="disc-player",
        unit__output_stage="none",
        unit__has_laser=True,
        findings=[],
        work=[],
    ),
    "intermittent receiver": amplifier(
        unit__kind="receiver", complaint__intermittent=True, findings=[], work=[]
    ),
}


@pytest.mark.parametrize("unit", USUAL_UNITS)
def test_a_gate_of_a_usual_unit_is_short(unit):
    checklist = derive(PACK, USUAL_UNITS[unit])
    lengths = {gate: len(checklist.gate(gate)) for gate in GATES}
    assert max(lengths.values()) <= 7, lengths


@pytest.mark.skipif(not CONTRACT.exists(), reason="the contract is not beside this checkout")
def test_names_agree_with_the_contract():
    text = CONTRACT.read_text(encoding="utf-8")
    facts, rest = text.split("\ngates:")
    gates, rest = rest.split("\nsteps:")
    steps, events = rest.split("\nevents:")
    for name, of_type in re.findall(r"^  ([a-z.]+[a-z_.]*):\s+\{type: (\w+)", facts, re.M):
        assert VOCABULARY[name].kind == of_type
    for name, words in re.findall(
        r"^  ([a-z._]+):[^\n]*?(?:one_of|of): \[([^\]]+)\]", facts, re.M | re.S
    ):
        listed = [word.strip().strip("'") for word in words.replace("\n", " ").split(",")]
        assert list(VOCABULARY[name].words) == listed, name
    assert re.findall(r"^  ([a-z-]+):", gates, re.M) == list(GATES)
    assert re.findall(r"^  ([a-z-]+):", steps, re.M) == STEPS
    assert re.findall(r"^  - ([a-z_]+)", events, re.M) == list(EVENTS)
