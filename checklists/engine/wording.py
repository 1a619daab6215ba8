"""What people read of a pack, text by text, and which of it is a safety text."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from checklists.engine.pack import Pack, Reading, Rule, Step
from checklists.engine.roles import STEP_ROLES
from checklists.engine.vocabulary import VOCABULARY, Fact
from checklists.engine.words import EVENTS, GATES, MEASURED, PHASES, SIGNAL_WORDS, as_shown

# Contexts of the catalogues. A safety text is translated under SAFETY, which no page asks for;
# compiling puts what a technician has read under READ. So nothing unread can come through.
WORDS = "rule pack"
SAFETY = "rule pack, safety"
READ = "rule pack, safety, read by a technician"

_LABELS = {
    "unit.kind": "Kind of unit",
    "unit.year": "Year built",
    "unit.rail_volts": "Highest rail",
    "unit.rail_total_volts": "Between plus and minus rail",
    "unit.reservoir_uf": "Reservoir capacitance on it",
    "unit.rated_watts": "Rated power",
    "unit.rated_load_ohms": "Rated load",
    "unit.idle_watts": "Drawn from the mains at idle",
    "unit.fuse_amps": "Mains fuse by the plate",
    "unit.has_laser": "Laser inside",
    "unit.has_lithium_cell": "Lithium cell inside",
    "unit.insulated_devices": "Power devices on insulators",
    "unit.live_sinks": "Heat sinks at a potential by design",
    "unit.has_valves": "Valves inside",
    "unit.valve_bias": "Bias of the output valves",
    "unit.plate_watts": "Rated plate dissipation of one output valve",
    "unit.lead_metres": "Length of the mains lead",
    "unit.lead_mm2": "Cross-section of its conductors",
    "unit.moving_parts": "Moving parts",
    "unit.mains_selector": "Mains selector",
    "unit.output_relay": "Output relay",
    "unit.bridged_outputs": "Bridged outputs",
    "unit.standby_supply": "Standby supply always on",
    "unit.pfc_bus": "Power factor correction",
    "unit.captive_lead": "Captive mains lead",
    "unit.fan_cooled": "Fan",
    "unit.phantom_power": "Phantom supply",
    "unit.emitter_ohms": "Emitter resistor",
    "unit.bias_millivolts": "Bias across it, by the service sheet",
    "unit.offset_limit_millivolts": "Offset allowed by the service sheet",
    "complaint.when": "When it happens",
    "complaint.intermittent": "Comes and goes",
    "complaint.symptoms": "Symptoms",
    "intake.damage": "Damage at intake",
}


@dataclass(frozen=True, slots=True)
class Wording:
    """One text, whose it is ("step", "verify-dead"), which part of that, and whether it is safety.

    A safety text tells hands what to do, or names what can hurt them.
    """

    text: str
    kind: str
    name: str
    part: str
    safety: bool = False


def of_pack(pack: Pack) -> Iterator[Wording]:
    """Yield every text of a pack that pages show; a text may come several times."""
    guarding = {key for key, step in pack.steps.items() if is_guarding(step)}
    for step in pack.steps.values():
        yield from _of_step(step, step.key in guarding)
    for rule in pack.rules:
        yield from _of_rule(rule, not guarding.isdisjoint(rule.require))
    for card in pack.cards.values():
        held = any(pack.steps[key].together == card.name for key in guarding)
        yield Wording(card.title, "card", card.name, "title", held)
    for hazard in pack.hazards:
        yield Wording(hazard.title, "hazard", hazard.key, "title", True)
        yield Wording(hazard.because, "hazard", hazard.key, "because", True)
        yield Wording(hazard.source, "hazard", hazard.key, "source")
    for suspect in pack.suspects:
        yield Wording(suspect.title, "suspect", suspect.key, "title")
        yield Wording(suspect.test, "suspect", suspect.key, "test", True)
        yield Wording(suspect.source, "suspect", suspect.key, "source")


def is_guarding(step: Step) -> bool:
    """Whether a step is there for somebody's safety: all that it says is a safety text then."""
    return step.hold or bool(step.hazards) or step.caution is not None


def _of_step(step: Step, safety: bool) -> Iterator[Wording]:
    yield Wording(step.title, "step", step.key, "title", safety)
    # Whoever does as it says has hands in a unit, whether it is a hold or not.
    yield Wording(step.instruction, "step", step.key, "instruction", True)
    if step.instead:
        yield Wording(step.instead, "step", step.key, "instead", True)
    if step.caution:
        yield Wording(step.caution.signal_word, "step", step.key, "caution", True)
        yield Wording(step.caution.text, "step", step.key, "caution", True)
    if step.source:
        yield Wording(step.source, "step", step.key, "source")
    for reading in step.readings:
        yield from _of_reading(reading, step, safety)


def _of_reading(reading: Reading, step: Step, safety: bool) -> Iterator[Wording]:
    yield Wording(reading.title, "step", step.key, reading.quantity, safety)
    yield Wording(as_shown(reading.quantity), "step", step.key, "quantity")
    if reading.source:
        yield Wording(reading.source, "step", step.key, f"{reading.quantity}, source")


def _of_rule(rule: Rule, safety: bool) -> Iterator[Wording]:
    yield Wording(as_shown(rule.id), "rule", rule.id, "name", safety)
    yield Wording(rule.because, "rule", rule.id, "because", safety)
    yield Wording(rule.source, "rule", rule.id, "source")
    for limit in rule.limits:
        yield Wording(limit.source, "rule", rule.id, f"{limit.quantity}, source")


def of_vocabulary() -> Iterator[Wording]:
    """Yield the closed words that packs use, as pages show them: with blanks for hyphens."""
    for fact in VOCABULARY.values():
        yield Wording(as_shown(fact.name.split(".")[-1]), "fact", fact.name, "name")
        yield Wording(label(fact), "fact", fact.name, "label")
        for word in fact.words:
            yield Wording(as_shown(word), "fact", fact.name, "option")
    for gate, meaning in GATES.items():
        yield Wording(as_shown(gate), "gate", gate, "name")
        yield Wording(meaning, "gate", gate, "meaning")
    for phase in PHASES:
        yield Wording(as_shown(phase), "phase", phase, "name")
    for event in EVENTS:
        yield Wording(as_shown(event), "event", event, "name")
    for measured, (title, _) in MEASURED.items():
        yield Wording(title, "measured", measured, "title")
    for role, terms in STEP_ROLES.items():
        yield Wording(as_shown(role), "role", role, "name")
        yield Wording(terms.does, "role", role, "does")
    for signal_word in SIGNAL_WORDS:
        yield Wording(signal_word, "signal word", signal_word, "name", True)


def label(fact: Fact) -> str:
    """Return what a form calls the fact, with its unit."""
    words = _LABELS.get(fact.name) or fact.name.split(".")[-1].replace("_", " ").capitalize()
    return f"{words} ({fact.unit})" if fact.unit else words
