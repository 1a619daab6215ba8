"""What the technical documents say: traveller, release record, hand-back note; no layout."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from checklists.engine.checklist import ListedStep
from checklists.engine.roles import StepRole
from shop.documents.common import UNREPAIRED, common_fields, when
from shop.jobs import events
from shop.jobs.comparison import first_and_last, limit
from shop.jobs.events.base import Event
from shop.jobs.events.estimate_answered import EstimateAnswered
from shop.jobs.events.finding_recorded import FindingRecorded
from shop.jobs.events.part_fitted import PartFitted
from shop.jobs.events.released import Released
from shop.jobs.events.signoffs import SignOff
from shop.jobs.events.soak_ended import SoakEnded
from shop.jobs.events.work_done import WorkDone
from shop.jobs.ledger import AnyRow
from shop.jobs.queries import Traveller
from shop.jobs.trials import trials_of
from shop.lib.refusals import refuse
from shop.lib.text import spaced
from shop.lib.web.templatetags.formatting import brief_price, plain
from shop.preferences import current as preferences

FIRST = (
    "Mains and stored charge can kill. Isolate, lock, discharge by the plan, prove it dead. "
    "Local codes and licensed practice come first."
)


def traveller_document(traveller: Traveller) -> dict[str, Any]:
    """Return the sheet that goes with the unit: facts, steps by gate with limits and state."""
    gates = [
        {
            "title": gate.meaning[0].upper() + gate.meaning[1:],
            "steps": [_step(step) for step in gate.steps],
        }
        for gate in traveller.gates.values()
        if gate.steps
    ]
    facts = traveller.record.recorded_facts
    return common_fields(traveller, "Traveller") | {
        "cautions": FIRST,
        "facts": [[spaced(name.split(".")[-1]), plain(value)] for name, value in facts.items()],
        "gates": gates,
        "notes": _lines(traveller, [event for event in events.EVENTS if event.on_paper]),
    }


def release_record(traveller: Traveller) -> dict[str, Any]:
    """Return the release record; Refused for a job that is not released."""
    if traveller.job.stage != "released":
        raise refuse("not-released", _not_yet(traveller, "released", "release record"))
    soak_ends = traveller.record.of_type(SoakEnded.event_type)
    [*_, released] = traveller.record.of_type(Released.event_type)
    return common_fields(traveller, "Release record") | {
        # The rules it was released by, whatever edition is in force today.
        "pack": f"digest {released.data['pack']}",
        "verdict": f"Released on {when(released.at)} by {released.by_name or 'the shop'}.",
        "lists": _work(traveller),
        "readings": [pair.cells for pair in first_and_last(traveller.record.rows)],
        "soak": "; ".join(events.words(soak_ends[-1])) if soak_ends else "",
        "trials": _trials(traveller),
        "signed": [_signed(row) for row in traveller.record.rows if _is_signature(row)],
        "cautions": cautions(traveller),
        "charts": [],
        "pairs": [],
        "signed_head": [],
        "agreed": _agreed(traveller),
    }


def _agreed(traveller: Traveller) -> str:
    """Return what was agreed with the customer, as the ledger has it."""
    agreement = traveller.record.agreement
    if agreement.answer != "yes" or agreement.covers is None or "total" not in agreement.covers:
        return ""
    row = traveller.record.of_type(EstimateAnswered.event_type)[-1]
    way = f", by {spaced(row.data['way'])}" if row.data.get("way") else ""
    total = brief_price(agreement.covers["total"], preferences.value("currency"))
    version = f", version {agreement.covers['version']}" if "version" in agreement.covers else ""
    return f"Estimate{version}, {total}: yes, {when(row.at)}{way}."


def handback_note(traveller: Traveller) -> dict[str, Any]:
    """Return the note that goes with a unit that was not repaired; Refused unless withdrawn."""
    if traveller.job.stage != "withdrawn":
        raise refuse("not-withdrawn", _not_yet(traveller, "withdrawn", "hand-back note"))
    unproved = [step.step.title for step in traveller.checklist.steps if not step.stands]
    return common_fields(traveller, "Hand-back note") | {
        "warning": UNREPAIRED,
        "lists": _work(traveller),
        "open": unproved,
    }


def cautions(traveller: Traveller) -> list[tuple[str, str]]:
    """Return signal word and text of the cautions of the release steps, each once."""
    step_cautions = [step.step.caution for step in traveller.checklist.gate("release")]
    return list(
        dict.fromkeys((caution.signal_word, caution.text) for caution in step_cautions if caution)
    )


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
        {"when": when(row.at), "words": events.line(row, traveller.record)}
        for row in traveller.record.rows
        if row.event_type in wanted
    ]


def _step(step: ListedStep) -> dict[str, Any]:
    signoff = step.validity.signoff
    return {
        "title": step.step.title,
        "limit": "\n".join(
            limit(reading.low, reading.high, reading.unit) for reading in step.readings
        ),
        "stands": step.stands,
        "state": step.state,
        "signed": f"{signoff.by} (row {signoff.sequence})" if signoff else "",
    }


def _is_signature(row: AnyRow) -> bool:
    return issubclass(events.find(row.event_type), SignOff)


def _signed(row: AnyRow) -> list[str]:
    data = row.data
    instead = f" Instead: {data['instead']}" if data.get("instead") else ""
    remark = (data.get("note") or data.get("reason") or "") + instead
    return [data["title"], data["result"], remark, row.by_name or "the shop", when(row.at)]
