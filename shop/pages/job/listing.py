"""The checklist of a job by phases, what the next gate asks, and the moves that can follow."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from checklists.engine import asking
from checklists.engine.checklist import CardView, Checklist
from checklists.engine.vocabulary import VOCABULARY
from checklists.engine.words import PHASES
from shop.jobs.facts import shown_label
from shop.jobs.models import Job
from shop.jobs.queries import Traveller
from shop.jobs.stages import PHASES_NOW, Stage
from shop.pages.job.unit_sheet import worth_asking


def checklist(traveller: Traveller, phase: str) -> dict[str, Any]:
    """Return the steps of the phase that is asked for, or of the first that has something to do."""
    listed = traveller.checklist
    phases = _phases(traveller.job, listed)
    chosen = next((one for one in phases if one["name"] == phase), None)
    chosen = chosen or next((one for one in phases if one["now"]), phases[0] if phases else None)
    return {
        "phases": phases,
        "chosen": chosen,
        "ask": None if traveller.job.closed else _ask(listed),
        "undecided": [(shown_label(VOCABULARY[n]), steps) for n, steps in listed.undecided.items()],
        "absent": [step for key, step in listed.pack.steps.items() if key not in listed.by_key],
        "pack": listed.pack,
    }


def _phases(job: Job, listed: Checklist) -> list[dict[str, Any]]:
    """Group the steps; those that hang on a fact that is not known are not among them."""
    folded = {step.key for steps in listed.undecided.values() for step in steps}
    current = PHASES_NOW[Stage(job.stage)]
    phases = []
    for phase in PHASES:
        steps = [s for s in listed.steps if s.step.phase == phase and s.key not in folded]
        if not steps:
            continue
        done = sum(1 for step in steps if step.stands)
        failed = any(step.state == "failed" for step in steps)
        now = failed or (phase in current and done < len(steps))
        phases.append({"name": phase, "steps": steps, "done": done, "all": len(steps), "now": now})
    return phases


@dataclass(frozen=True)
class AskView:
    """What the next gate has to sign, and the fact that takes most of it away."""

    gate: str
    holds: int
    cards: list[CardView]
    taken: int
    # Name, words and field of the fact; None when no fact takes anything away.
    fact: tuple[str, str, Any] | None


def _ask(checklist: Checklist) -> AskView | None:
    gate = asking.next_gate(checklist)
    if gate is None:
        return None
    first = checklist.asks[0] if checklist.asks else None
    fact = worth_asking([first.fact])[0] if first else None
    taken, cards = first.holds if first else 0, checklist.open_cards(gate)
    return AskView(gate, len(checklist.unmet(gate)), cards, taken, fact)
