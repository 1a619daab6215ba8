"""What each paper says, read off the record: plain words and numbers, no layout."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.utils import timezone

from checklists.engine.checklist import ListedStep
from checklists.engine.roles import StepRole
from shop.customers.models import Intake
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
from shop.jobs.models import Job
from shop.jobs.queries import Traveller
from shop.jobs.trials import trials_of
from shop.lib.refusals import refuse
from shop.lib.text import spaced
from shop.lib.web.templatetags.formatting import brief_price, plain

FIRST = (
    "Mains and stored charge can kill. Isolate, lock, discharge by the plan, prove it dead. "
    "Local codes and licensed practice come first."
)
UNREPAIRED = (
    "This unit goes back unrepaired. Do not plug it in: it has not been shown to be safe. "
    "Local codes and licensed practice come first."
)


def common(sheet: Traveller, title: str) -> dict[str, Any]:
    """Return what every paper says about the unit and the shop."""
    job = sheet.job
    return {
        "title": title,
        "shop": settings.SHOP_NAME,
        "fonts": [settings.FONT] if settings.FONT else [],
        "number": str(job.number),
        "unit": str(job.unit),
        "serial": job.unit.serial,
        "customer": _customer(job),
        "received": when(job.received_at),
        "complaint": job.complaint or "Nothing was said.",
        "pack": f"{sheet.checklist.pack.name} {sheet.checklist.pack.version}, "
        f"digest {sheet.checklist.pack.digest}",
        "head": str(job.head),
        "hash": sheet.record.rows[-1].hash,
    }


def traveller(sheet: Traveller) -> dict[str, Any]:
    """Return the sheet that goes with the unit: facts, steps by gate with limits and state."""
    gates = [
        {
            "title": gate.meaning[0].upper() + gate.meaning[1:],
            "steps": [_step(step) for step in gate.steps],
        }
        for gate in sheet.gates.values()
        if gate.steps
    ]
    facts = sheet.record.recorded_facts
    return common(sheet, "Traveller") | {
        "cautions": FIRST,
        "facts": [[spaced(name.split(".")[-1]), plain(value)] for name, value in facts.items()],
        "gates": gates,
        "notes": _lines(sheet, [event for event in events.EVENTS if event.on_paper]),
    }


def release(sheet: Traveller) -> dict[str, Any]:
    """Return the release record; Refused for a job that is not released."""
    if sheet.job.stage != "released":
        raise refuse("not-released", _not_yet(sheet, "released", "release record"))
    ends = sheet.record.of_type(SoakEnded.event_type)
    [*_, gone] = sheet.record.of_type(Released.event_type)
    return common(sheet, "Release record") | {
        # The rules it was released by, whatever edition is in force today.
        "pack": f"digest {gone.data['pack']}",
        "verdict": f"Released on {when(gone.at)} by {gone.by_name or 'the shop'}.",
        "lists": _work(sheet),
        "readings": [one.cells for one in first_and_last(sheet.record.rows)],
        "soak": "; ".join(events.words(ends[-1])) if ends else "",
        "trials": _trials(sheet),
        "signed": [_signed(row) for row in sheet.record.rows if _is_signature(row)],
        "cautions": cautions(sheet),
        "charts": [],
        "pairs": [],
        "agreed": _agreed(sheet),
    }


def _agreed(sheet: Traveller) -> str:
    """Return what was agreed with the customer, as the ledger has it."""
    found = sheet.record.agreement
    if found.answer != "yes" or found.covers is None or "total" not in found.covers:
        return ""
    row = sheet.record.of_type(EstimateAnswered.event_type)[-1]
    way = f", by {spaced(row.data['way'])}" if row.data.get("way") else ""
    total = brief_price(found.covers["total"], settings.CURRENCY)
    version = f", version {found.covers['version']}" if "version" in found.covers else ""
    return f"Estimate{version}, {total}: yes, {when(row.at)}{way}."


def handback(sheet: Traveller) -> dict[str, Any]:
    """Return the note that goes with a unit that was not repaired; Refused unless withdrawn."""
    if sheet.job.stage != "withdrawn":
        raise refuse("not-withdrawn", _not_yet(sheet, "withdrawn", "hand-back note"))
    still = [step.step.title for step in sheet.checklist.steps if not step.stands]
    return common(sheet, "Hand-back note") | {
        "warning": UNREPAIRED,
        "lists": _work(sheet),
        "open": still,
    }


def when(at: Any) -> str:
    """Return a moment in the shop's time."""
    return f"{timezone.localtime(at):%Y-%m-%d %H:%M}"


def _customer(job: Job) -> str:
    intake = Intake.objects.select_related("customer").filter(job=job).first()
    return str(intake.customer) if intake and intake.customer else ""


def cautions(sheet: Traveller) -> list[tuple[str, str]]:
    """Return signal word and text of the cautions of the release steps, each once."""
    steps = [step.step.caution for step in sheet.checklist.gate("release")]
    return list(dict.fromkeys((one.signal_word, one.text) for one in steps if one))


def _trials(sheet: Traveller) -> str:
    found = trials_of(sheet.record)
    if not found.proof and sheet.checklist.with_role(StepRole.CLEAN_TRIALS) is None:
        return ""
    clean = f"{found.clean} clean trials since the last work; {found.needed} were asked for."
    return f"{clean} {found.proof.says} (Fisher's exact test)" if found.proof else clean


def _not_yet(sheet: Traveller, wanted: str, paper: str) -> str:
    return (
        f"Job {sheet.job.number} is {spaced(sheet.job.stage)}; "
        f"its {paper} can be printed once it is {wanted}."
    )


def _work(sheet: Traveller) -> list[list[Any]]:
    return [
        ["Found", _lines(sheet, [FindingRecorded])],
        ["Done", _lines(sheet, [WorkDone])],
        ["Parts", _lines(sheet, [PartFitted])],
    ]


def _lines(sheet: Traveller, types: Sequence[type[Event]]) -> list[dict[str, str]]:
    wanted = {event.event_type for event in types}
    return [
        {"when": when(row.at), "words": events.line(row, sheet.record)}
        for row in sheet.record.rows
        if row.event_type in wanted
    ]


def _step(step: ListedStep) -> dict[str, Any]:
    signoff = step.validity.signoff
    return {
        "title": step.step.title,
        "limit": "\n".join(limit(one.low, one.high, one.unit) for one in step.readings),
        "stands": step.stands,
        "state": step.state,
        "signed": f"{signoff.by} (row {signoff.sequence})" if signoff else "",
    }


def _is_signature(row: AnyRow) -> bool:
    return issubclass(events.find(row.event_type), SignOff)


def _signed(row: AnyRow) -> list[str]:
    data = row.data
    said = data.get("note") or data.get("reason") or ""
    return [data["title"], data["result"], said, row.by_name or "the shop", when(row.at)]
