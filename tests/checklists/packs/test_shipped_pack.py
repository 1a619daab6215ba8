from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from django.conf import settings

from checklists import published
from checklists.engine import case_histories, cases, properties, prove, typical
from checklists.engine.deciding import clauses
from checklists.engine.prove_histories import HistoryProver
from checklists.engine.prove_purposes import purposes
from checklists.engine.vocabulary import VOCABULARY, accept
from checklists.engine.ways_out import WaysOut
from checklists.engine.words import EVENTS, GATES
from shop.bench import registry

PACK = published.pack()
PROMISED = tomllib.loads(
    (Path(__file__).parent / "promised_names.toml").read_text(encoding="utf-8")
)

STEPS = PROMISED["steps"]


def test_every_promised_step_is_there():
    assert set(STEPS) <= set(PACK.steps)


def test_all_cases_of_the_pack_come_out_as_written():
    report = cases.run(PACK, settings.PACK_FOLDER)
    assert report.problems == []
    assert report.cases >= 60


def test_a_case_that_is_wrong_is_told(tmp_path):
    for file in settings.PACK_FOLDER.glob("*.toml"):
        (tmp_path / file.name).write_bytes(file.read_bytes())
    wrong = tmp_path / "release.cases.toml"
    text = wrong.read_text(encoding="utf-8")
    wrong.write_text(text.replace('"earth-continuity",', "", 1), encoding="utf-8")

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


# Power a unit can have on its way to each gate; a hold that needs another could never be signed.
POWER_BEFORE = {
    "first-power": {"isolated"},
    "open-up": {"isolated"},
    "hands-in": {"isolated"},
    "limited-power": {"isolated"},
    "full-power": {"isolated", "limited"},
    "soak": {"isolated", "limited", "full"},
    "release": {"isolated", "limited", "full"},
    "hand-back": {"isolated"},
}


@pytest.mark.parametrize("key", sorted(k for k, step in PACK.steps.items() if step.hold))
def test_every_hold_can_be_signed_before_its_gate_and_survives_passing_it(key):
    step = PACK.steps[key]
    for gate in {step.gate, step.gate_once_opened} - {None}:
        assert not step.needs_power or POWER_BEFORE[gate] & set(step.needs_power)
        if gate in ("first-power", "limited-power", "full-power"):
            passing = [i for i in step.invalidated_by if i.event_type == "power_applied"]
            # What is left behind at full, the limiter, may end there: full does not ask for it.
            assert all(i.power == {"full"} and gate != "full-power" for i in passing)
            ends = {invalidation.event_type for invalidation in step.invalidated_by}
            assert not ends & {"permit_granted", "step_signed"}


@pytest.mark.parametrize("key", STEPS)
def test_promised_steps_have_caution_or_ending(key):
    step = PACK.steps[key]
    assert step.caution or step.invalidated_by


@pytest.mark.parametrize("form", typical.forms(settings.PACK_FOLDER), ids=lambda form: form.name)
def test_a_gate_of_a_usual_unit_is_short_however_little_is_known(form):
    lengths = {g: length.cards for g, length in typical.lengths(PACK, form.facts).items()}
    assert max(lengths.values()) <= 7, lengths


def test_the_pack_is_broad():
    assert len(PACK.rules) >= 150
    assert len(PACK.steps) >= 120


def words_in(rule):
    return {
        (name, word)
        for clause in clauses(rule.condition.tree)
        for name, op, constant, _ in clause
        if op in ("_==_", "@in", "has")
        for word in (constant if isinstance(constant, tuple) else (constant,))
    }


@pytest.mark.parametrize(
    "name",
    ["unit.kind", "unit.supply", "findings", "work", "complaint.symptoms", "complaint.when"],
)
def test_every_word_leads_to_a_rule(name):
    spoken = {word for rule in PACK.rules for n, word in words_in(rule) if n == name}
    assert set(VOCABULARY[name].words) <= spoken


def test_every_output_stage_leads_to_a_rule_of_its_own_or_of_its_kind():
    spoken = " ".join(rule.condition.source for rule in PACK.rules)
    for stage in VOCABULARY["unit.output_stage"].words:
        assert f'"{stage}"' in spoken


@pytest.mark.long
def test_every_history_is_refused_or_accepted_as_it_is_written():
    hands = case_histories.hands_of(settings.PACK_FOLDER)
    histories = case_histories.read(settings.PACK_FOLDER)
    assert len(histories) >= 150
    assert [s for case in histories for s in case_histories.judge(PACK, case, hands)] == []


@pytest.mark.long
def test_no_exposure_is_met_in_any_history_and_no_unit_is_stuck():
    found = [*HistoryProver(PACK).check(), *WaysOut(PACK).check(), *purposes(PACK, PACK.steps)]
    assert [f for f in found if f.verdict != prove.Verdict.PROVED] == []


def test_every_property_is_proved():
    prover = prove.Prover(PACK)
    to_prove = properties.read(settings.PACK_FOLDER, PACK)
    assert len(to_prove) >= 40
    found = [*map(prover.check, to_prove), *prover.structure()]
    assert [f for f in found if f.verdict != prove.Verdict.PROVED] == []


# Rules whose loss must be noticed by some property: taking one away, and the hazards that keep
# its steps on the list without it, makes a hole.
GUARDED = [
    "rail-can-exceed-60-volts",
    "primary-bus-of-a-switch-mode-supply",
    "insulator-was-disturbed",
    "transformerless-chassis-may-be-live",
    "class-one-relies-on-its-earth",
    "touchable-metal-is-tested",
    "signs-of-fire-or-liquid-stop-the-plug",
    "valves-need-their-bias-first",
    "intermittent-faults-need-counted-trials",
    "loudspeaker-outputs-are-checked-for-dc",
]


@pytest.mark.parametrize("missing", GUARDED)
def test_a_pack_without_a_safety_rule_is_refuted_with_a_unit(missing):
    rules = tuple(rule for rule in PACK.rules if rule.id != missing)
    [lost] = [rule for rule in PACK.rules if rule.id == missing]
    kept = tuple(h for h in PACK.hazards if not {*lost.require} & {*h.listed_steps})
    holed = replace(PACK, rules=rules, hazards=kept, raw={**PACK.raw, "without": missing})
    prover = prove.Prover(holed)
    found = map(prover.check, properties.read(settings.PACK_FOLDER, PACK))
    refuted = [f for f in found if f.verdict == prove.Verdict.REFUTED]

    assert refuted
    accept(refuted[0].facts)


def test_promised_names_are_as_they_were():
    """Words may be added after those that were promised, and nothing else may change."""
    for name, of_type in PROMISED["types"].items():
        assert VOCABULARY[name].kind == of_type
    for name, words in PROMISED["words"].items():
        assert list(VOCABULARY[name].words[: len(words)]) == words, name
    assert list(EVENTS)[: len(PROMISED["events"])] == PROMISED["events"]
    # A gate may be added where a unit meets it.
    assert [gate for gate in GATES if gate in PROMISED["gates"]] == PROMISED["gates"]
