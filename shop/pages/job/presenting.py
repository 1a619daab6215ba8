"""What the traveller shows, put together from a job's record and checklist."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import Any

from django.forms.boundfield import BoundField
from django.http import QueryDict

from checklists.engine import asking
from checklists.engine.checklist import CardView, Checklist, ListedStep
from checklists.engine.vocabulary import VOCABULARY, Facts, Value
from checklists.engine.words import PHASES
from shop.bench import formatting, registry
from shop.jobs import events, forms, queries, suspecting
from shop.jobs.earlier_readings import Strip, strips
from shop.jobs.events.forms import EventForm
from shop.jobs.events.part_fitted import FittedForm
from shop.jobs.facts import TYPED, label
from shop.jobs.kits import spec_for
from shop.jobs.models import Job
from shop.jobs.needs import Need
from shop.jobs.next_act import Act
from shop.jobs.queries import GateView, Traveller
from shop.jobs.stages import PHASES_NOW, Stage
from shop.parts import stock

WORTH_FINDING_OUT = 5
LATEST_ROWS = 8
_SEARCHING = (Stage.RECEIVED, Stage.REPRODUCING, Stage.OPENED, Stage.AWAITING_PARTS)

# The line of stations, each with the gates that stand before it.
_LINE = (
    (Stage.RECEIVED, ()),
    (Stage.REPRODUCING, ("first-power",)),
    (Stage.OPENED, ("open-up", "hands-in")),
    (Stage.REASSEMBLED, ("limited-power", "full-power")),
    (Stage.SOAKING, ("soak",)),
    (Stage.RELEASED, ("release",)),
)


@dataclass(frozen=True)
class Station:
    """A stage on the line, with the gates before it."""

    name: str
    gates: list[GateView]
    here: bool
    passed: bool
    beside: str = ""


@dataclass(frozen=True)
class StepView:
    """A step with its plan worked out and what was typed before a refusal."""

    listed: ListedStep
    plan: list[tuple[str, str]]
    plan_missing: str
    inputs: list[tuple[Any, str, Strip | None]]
    answers: list[BoundField]
    note: str = ""
    # What a waiver of a step that failed may rest on: rows, and what they say. None: it did not fail.
    looks: Sequence[tuple[int, str]] | None = None

    @property
    def key(self) -> str:
        """The step's key."""
        return self.listed.key


def sheet(
    traveller: Traveller, now: datetime, *, typed: QueryDict, form: EventForm | None
) -> dict[str, Any]:
    """Return the context of the job's page."""
    return {
        "job": traveller.job,
        "traveller": traveller,
        "pack": traveller.checklist.pack,
        "stations": stations(traveller),
        "search": _search(traveller),
        "twins": [] if traveller.job.closed else traveller.job.twins,
        **_steps(traveller, now, typed),
        **_facts(traveller.record.facts, traveller.checklist),
        **_parts(traveller, form),
        **_writing(traveller, form),
    }


def _steps(traveller: Traveller, now: datetime, typed: QueryDict) -> dict[str, Any]:
    """Return the next act, all steps by phase, and those of the pack that are not called for."""
    job, checklist = traveller.job, traveller.checklist
    asked = {reading.quantity for step in checklist.steps for reading in step.readings}
    past = strips(job.unit.make, job.unit.model, asked, but=job.number)
    view = partial(step_view, typed=typed, past=past, looks=_new_looks(traveller))
    charged = [view(step) for step in traveller.before_hands]
    act = traveller.next_act(now)
    following = checklist.by_key.get(act.key)
    if following and following.key in [view.key for view in charged]:
        following = None
    steps = checklist.pack.steps
    return {
        "charged": charged,
        "act": act,
        "rounds": _rounds(act),
        "next": view(following) if following else None,
        "phases": _phases(job, checklist, view),
        "undecided": [
            (label(VOCABULARY[name]), [view(step) for step in steps])
            for name, steps in checklist.undecided.items()
        ],
        "absent": [step for key, step in steps.items() if key not in checklist.by_key],
    }


def _rounds(act: Act) -> list[Mapping[str, Any]]:
    """Return the tiles of an act that need no more than a tap."""
    choices = act.more.get("choices", ())
    return [choice for choice in choices if choice["kind"] == "round_finished"]


def _facts(known: Facts, checklist: Checklist) -> dict[str, Any]:
    """Return what is known of the unit, and what would be worth finding out."""
    return {
        "facts": [(label(fact), _in_words(known.get(fact.name))) for fact in TYPED],
        "all_facts": TYPED,
        "ask": _ask(checklist),
        "worth": _worth(checklist.missing_facts[1 if checklist.asks else 0 :]),
        "findings": _findings(known.get("findings")),
    }


def _writing(traveller: Traveller, typed: EventForm | None) -> dict[str, Any]:
    """Return the forms to write down what happened, and the last that was."""
    return {
        "row_forms": _row_forms(typed),
        "sections": forms.SECTIONS,
        "latest": list(reversed(traveller.record.rows[-LATEST_ROWS:])),
    }


def stations(traveller: Traveller) -> list[Station]:
    """Return the line of stations with this job's place on it."""
    now = Stage(traveller.job.stage)
    on_line = Stage.OPENED if now == Stage.AWAITING_PARTS else now
    places = [stage for stage, _ in _LINE]
    reached = places.index(on_line) if on_line in places else -1
    gates = traveller.gates
    return [
        Station(
            stage.value,
            [gates[name] for name in names],
            stage == on_line,
            place < reached,
            "awaiting parts" if now == Stage.AWAITING_PARTS and stage == Stage.OPENED else "",
        )
        for place, (stage, names) in enumerate(_LINE)
    ]


def _new_looks(traveller: Traveller) -> dict[str, list[tuple[int, str]]]:
    """Return, for each step that failed, the rows of what was looked at since."""
    said = {row.sequence: row for row in traveller.record.rows}
    history = traveller.record.history
    return {
        key: [(n, "; ".join(events.words(said[n]))) for n in history.new_looks(key) if n in said]
        for key in history.unproved
    }


def step_view(
    step: ListedStep,
    typed: QueryDict,
    past: dict[str, Strip] | None = None,
    looks: Mapping[str, Sequence[tuple[int, str]]] | None = None,
) -> StepView:
    """Return a step ready to be shown; `typed` refills the form it came from."""
    mine = typed if typed.get("step") == step.key else QueryDict()
    inputs = [
        (r, mine.get(f"reading-{r.quantity}", ""), (past or {}).get(r.quantity))
        for r in step.readings
    ]
    answers = [forms.answer_field(VOCABULARY[one.fact], mine) for one in step.answers]
    plan, missing = _plan(step)
    rests_on = (looks or {}).get(step.key)
    return StepView(step, plan, missing, inputs, answers, mine.get("note", ""), rests_on)


def _plan(step: ListedStep) -> tuple[list[tuple[str, str]], str]:
    if step.plan is None:
        return [], ""
    if step.plan.missing:
        wanted = ", ".join(label(VOCABULARY[name]) for name in step.plan.missing)
        return [], f"Record this first, then the plan is worked out here: {wanted}."
    result, why_not = registry.plan_result(step.plan.calculation, dict(step.plan.arguments))
    if result is None:
        return [], why_not
    return [(line.name, line.amount) for line in formatting.lines(result)], ""


def _phases(
    job: Job, checklist: Checklist, view: Callable[[ListedStep], StepView]
) -> list[dict[str, Any]]:
    """Group the steps; the phases of this stage, and whatever failed, are unfolded.

    Service steps that hang on a fact that is not known are not among them.
    """
    folded = {step.key for steps in checklist.undecided.values() for step in steps}
    listed = [step for step in checklist.steps if step.key not in folded]
    phases = []
    current = PHASES_NOW[Stage(job.stage)]
    for phase in PHASES:
        views = [view(step) for step in listed if step.step.phase == phase]
        done = sum(1 for view in views if view.listed.stands)
        if views:
            failed = any(view.listed.state == "failed" for view in views)
            now = failed or (phase in current and done < len(views))
            phases.append(
                {"name": phase, "steps": views, "done": done, "all": len(views), "now": now}
            )
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
    fact = _worth([first.fact])[0] if first else None
    taken, cards = first.holds if first else 0, checklist.open_cards(gate)
    return AskView(gate, len(checklist.unmet(gate)), cards, taken, fact)


def _worth(missing: list[str]) -> list[tuple[str, str, Any]]:
    chosen = [VOCABULARY[name] for name in missing[:WORTH_FINDING_OUT]]
    form = forms.FactsForm(facts=tuple(chosen), auto_id="worth-%s")
    return [(fact.name, label(fact), form[fact.name]) for fact in chosen]


def _search(traveller: Traveller) -> suspecting.Search | None:
    """Return the suspects while there is a cause to be found; nothing once it is together again."""
    if Stage(traveller.job.stage) not in _SEARCHING:
        return None
    return suspecting.search_of(traveller.record, traveller.checklist)


def _findings(value: Value | None) -> list[tuple[str, str]]:
    words = value if isinstance(value, list) else []
    return [(word, spec_for(word)) for word in words]


@dataclass(frozen=True)
class PartView:
    """A part need on the sheet, with how many of it lie free in the bins."""

    need: Need
    free: int
    # How it was fitted, when not by a hand inside; `open` when it came back with a refusal.
    fitting: EventForm
    open: bool


def _parts(traveller: Traveller, typed: EventForm | None) -> dict[str, Any]:
    """Return the parts needed, and what earlier jobs on this model took."""
    job = traveller.job
    kit = [] if job.closed else queries.kit_for(job)
    return {"parts": _needs(traveller.record.needs, typed), "kit": kit}


def _needs(needs: list[Need], typed: EventForm | None) -> list[PartView]:
    wanted = [need.part for need in needs if need.part and need.outstanding]
    free = stock.free_by_part(wanted) if wanted else {}
    return [_need(need, free.get(need.part or 0, 0), typed) for need in needs]


def _need(need: Need, free: int, typed: EventForm | None) -> PartView:
    came_back = isinstance(typed, FittedForm) and typed.data.get("need") == str(need.sequence)
    if typed is not None and came_back:
        return PartView(need, free, typed, open=True)
    return PartView(need, free, FittedForm(auto_id=f"fitted-{need.sequence}-%s"), open=False)


def _in_words(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return ", ".join(value) or "none"
    return f"{value:g}" if isinstance(value, float) else str(value)


@dataclass(frozen=True)
class RowForm:
    """A form under "Write down"; `open` when it came back with a refusal."""

    event_type: str
    form: EventForm
    open: bool


def _row_forms(typed: EventForm | None) -> list[RowForm]:
    """Return the forms of the events that have one with a title, the typed one as it was typed."""
    made = []
    for event in events.EVENTS:
        if event.form is not None and event.form.title:
            came_back = type(typed) is event.form
            form = typed if typed and came_back else event.form(auto_id=f"{event.event_type}-%s")
            made.append(RowForm(event.event_type, form, came_back))
    return made
