"""What the technical documents say: traveller, release record, hand-back note; no layout."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.utils import timezone

from checklists.engine.checklist import ListedStep
from checklists.engine.roles import StepRole
from checklists.engine.vocabulary import Fact
from shop.documents.common import UNREPAIRED, answered, common_fields, day, when
from shop.documents.reading_table import figure, range_words, reading_table
from shop.jobs import events, soaking
from shop.jobs.events.base import Event
from shop.jobs.events.estimate_answered import EstimateAnswered
from shop.jobs.events.finding_recorded import FindingRecorded
from shop.jobs.events.part_fitted import PartFitted
from shop.jobs.events.released import Released
from shop.jobs.events.signoffs import SignOff
from shop.jobs.events.soak_ended import SoakEnded
from shop.jobs.events.work_done import WorkDone
from shop.jobs.facts import TYPED, label
from shop.jobs.ledger import AnyRow
from shop.jobs.queries import GateView, Traveller
from shop.jobs.stages import LINE, Stage
from shop.jobs.trials import trials_of
from shop.lib.refusals import refuse
from shop.lib.signs import typeset, unit_sign, with_unit
from shop.lib.text import plain, spaced
from shop.lib.web.templatetags.formatting import brief_price, hours
from shop.preferences import current as preferences

FIRST = (
    "Mains and stored charge can kill. Isolate, lock, discharge by the plan, prove it dead. "
    "Local codes and licensed practice come first."
)
SHUT = (
    "Do not open this unit: inside are voltages that kill, also after the plug is out. "
    "Local codes and licensed practice come first."
)
_NOTHING: tuple[Any, ...] = (False, "none", [], ["none"])
_RESULTS = {"pass": "passed", "fail": "failed", "not-applicable": "does not apply"}


def traveller_document(traveller: Traveller) -> dict[str, Any]:
    """Return the sheet that goes with the unit: facts, steps by gate with room for a pen, notes."""
    facts, without = _facts(traveller)
    return common_fields(traveller, "Traveller") | {
        "cautions": FIRST,
        "line": _line(traveller),
        "facts": facts,
        "without": without,
        "gates": [_gate(gate) for gate in traveller.gates.values() if gate.steps],
        "notes": _lines(traveller, [event for event in events.EVENTS if event.on_paper]),
    }


def _facts(traveller: Traveller) -> tuple[list[list[str]], list[str]]:
    """Return what is recorded, with units, and apart from it what the unit has not."""
    recorded = traveller.record.recorded_facts
    known = [(fact, recorded[fact.name]) for fact in TYPED if fact.name in recorded]
    there = [[_label(fact), _value(fact, value)] for fact, value in known if value not in _NOTHING]
    without = [_label(fact) for fact, value in known if value in _NOTHING]
    return there, [name[0].lower() + name[1:] for name in without]


def _label(fact: Fact) -> str:
    return label(fact).removesuffix(f" ({fact.unit})")


def _value(fact: Fact, value: Any) -> str:
    is_number = isinstance(value, float)
    return with_unit(figure(value, 4) if is_number else spaced(plain(value)), fact.unit)


def _line(traveller: Traveller) -> list[dict[str, Any]]:
    """Return the stations as the job's page draws them, with the gates before each."""
    stage = Stage(traveller.job.stage)
    places = [one for one, _ in LINE]
    on_line = Stage.OPENED if stage == Stage.AWAITING_PARTS else stage
    here = places.index(on_line) if on_line in places else -1
    return [
        {
            "title": spaced(one).capitalize(),
            "state": "here" if place == here else "done" if place < here else "ahead",
            "day": "awaiting parts" if stage != on_line and one == on_line else "",
            "gates": [traveller.gates[name].open for name in names],
        }
        for place, (one, names) in enumerate(LINE)
    ]


def _gate(gate: GateView) -> dict[str, Any]:
    return {
        "title": gate.meaning[0].upper() + gate.meaning[1:],
        "steps": [_step(step) for step in gate.steps],
    }


def release_record(traveller: Traveller) -> dict[str, Any]:
    """Return the release record; Refused for a job that is not released."""
    if traveller.job.stage != "released":
        raise refuse("not-released", _not_yet(traveller, "released", "release record"))
    soak_ends = traveller.record.of_type(SoakEnded.event_type)
    [*_, released] = traveller.record.of_type(Released.event_type)
    return common_fields(traveller, "Release record") | {
        # The rules it was released by, whatever edition is in force today.
        "pack": f"Rules it was released by: SHA-256 {released.data['pack']}",
        "verdict": f"Repaired, tested and released on {day(released.at)} by {released.by_name or 'the shop'}.",
        "lists": _work(traveller),
        **reading_table(traveller),
        "soak": typeset(_soak(traveller, soak_ends[-1])) if soak_ends else "",
        "trials": _trials(traveller),
        "signed": [_signed(row) for row in traveller.record.rows if _is_signature(row)],
        "cautions": SHUT,
        "charts": [],
        "pairs": [],
        "signed_head": [],
        "agreed": _agreed(traveller),
    }


def _soak(traveller: Traveller, ended: AnyRow) -> str:
    """Return how long the last soak ran, and how it ended."""
    run = soaking.soak_of(traveller.record, traveller.checklist)
    lasted = f"{hours(run.run_minutes(ended.at))} with mains on: " if run else ""
    return f"{lasted}{'; '.join(events.words(ended))}."


def _agreed(traveller: Traveller) -> str:
    """Return what was agreed with the customer, as the ledger has it."""
    agreement = traveller.record.agreement
    if agreement.answer != "yes" or agreement.covers is None or "total" not in agreement.covers:
        return ""
    row = traveller.record.of_type(EstimateAnswered.event_type)[-1]
    way = answered(row.data.get("way"))
    total = brief_price(agreement.covers["total"], preferences.value("currency"))
    version = f", version {agreement.covers['version']}" if "version" in agreement.covers else ""
    return f"Estimate{version}, {total}: yes on {day(row.at)}{way}."


def handback_note(traveller: Traveller) -> dict[str, Any]:
    """Return the note that goes with a unit that was not repaired; Refused unless withdrawn."""
    if traveller.job.stage != "withdrawn":
        raise refuse("not-withdrawn", _not_yet(traveller, "withdrawn", "hand-back note"))
    return common_fields(traveller, "Hand-back note") | {
        "warning": UNREPAIRED,
        "lists": _work(traveller),
        "declined": _declined(traveller),
        "open": not_tested(traveller),
    }


def _declined(traveller: Traveller) -> str:
    """Return that the estimate was declined, and when; nothing when it was not."""
    if traveller.record.agreement.answer != "no":
        return ""
    row = traveller.record.of_type(EstimateAnswered.event_type)[-1]
    return f"You declined it on {day(row.at)}{answered(row.data.get('way'))}."


def not_tested(traveller: Traveller) -> list[str]:
    """Return the tests of a repaired unit that were not passed; none that may not be for this unit."""
    return [
        typeset(step.step.title)
        for step in traveller.checklist.gate("release")
        if not step.stands and not step.undetermined
    ]


def _trials(traveller: Traveller) -> str:
    trials = trials_of(traveller.record)
    if not trials.proof and traveller.checklist.with_role(StepRole.CLEAN_TRIALS) is None:
        return ""
    clean = f"{trials.clean} clean trials since the last work; {trials.needed} were asked for."
    return f"{clean} {trials.proof.says} (Fisher's exact test)" if trials.proof else clean


def _not_yet(traveller: Traveller, wanted: str, document: str) -> str:
    return (
        f"Job {traveller.job.number} is {spaced(traveller.job.stage)}; "
        f"its {document} can be printed once it is {wanted}."
    )


def _work(traveller: Traveller) -> list[list[Any]]:
    return [
        ["Found", _lines(traveller, [FindingRecorded])],
        ["Done", _lines(traveller, [WorkDone])],
        ["Parts", _lines(traveller, [PartFitted])],
    ]


def _lines(traveller: Traveller, types: Sequence[type[Event]]) -> list[dict[str, str]]:
    wanted = {event.event_type for event in types}
    return [
        {"when": when(row.at), "words": typeset(events.line(row, traveller.record))}
        for row in traveller.record.rows
        if row.event_type in wanted
    ]


def _step(step: ListedStep) -> dict[str, Any]:
    signoff = step.validity.signoff if step.stands else None
    return {
        "title": typeset(step.step.title),
        "readings": [
            [typeset(one.title), range_words(one.low, one.high, one.unit), unit_sign(one.unit)]
            for one in step.readings
        ],
        "stands": step.stands,
        "state": "" if step.state in ("due", "signed") else spaced(step.state),
        "by": signoff.by if signoff else "",
        "day": f"{timezone.localtime(signoff.at):%d %b %H:%M}" if signoff else "",
    }


def _is_signature(row: AnyRow) -> bool:
    return issubclass(events.find(row.event_type), SignOff)


def _signed(row: AnyRow) -> list[str]:
    data = row.data
    instead = f" Instead: {data['instead']}" if data.get("instead") else ""
    remark = (data.get("note") or data.get("reason") or "") + instead
    result = _RESULTS.get(data["result"], data["result"])
    return [
        typeset(data["title"]),
        result,
        typeset(remark),
        row.by_name or "the shop",
        when(row.at),
    ]
