"""What the technical documents say: traveller, release record, hand-back note; no layout."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext, pgettext

from checklists.engine.checklist import ListedStep
from checklists.engine.roles import StepRole
from checklists.engine.vocabulary import Fact
from shop.documents.common import UNREPAIRED, caution, common_fields, way_of, when
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
from shop.lib.languages import day
from shop.lib.refusals import refuse
from shop.lib.signs import typeset, unit_sign, with_unit
from shop.lib.text import plain, spaced
from shop.lib.web.templatetags.formatting import brief_price, hours
from shop.preferences import current as preferences

FIRST = gettext_lazy(
    "Mains and stored charge can kill. Isolate, lock, discharge by the plan, prove it dead. "
    "Local codes and licensed practice come first."
)
SHUT = gettext_lazy(
    "Do not open this unit: inside are voltages that kill, also after the plug is out. "
    "Local codes and licensed practice come first."
)
_NOTHING: tuple[Any, ...] = (False, "none", [], ["none"])
_RESULTS = {
    "pass": gettext_lazy("passed"),
    "fail": gettext_lazy("failed"),
    "not-applicable": gettext_lazy("does not apply"),
}


def traveller_document(traveller: Traveller) -> dict[str, Any]:
    """Return the sheet that goes with the unit: facts, steps by gate with room for a pen, notes."""
    facts, without = _facts(traveller)
    return common_fields(traveller, _("Traveller")) | {
        "cautions": caution(FIRST),
        "line": _line(traveller),
        "facts": facts,
        "without": _without(without),
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


def _without(names: list[str]) -> str:
    return _("Answered with no: {names}.").format(names=", ".join(names)) if names else ""


def _label(fact: Fact) -> str:
    return label(fact).removesuffix(f" ({fact.unit})")


def _value(fact: Fact, value: Any) -> str:
    is_number = isinstance(value, float)
    return with_unit(figure(value, 4) if is_number else spaced(plain(value)), fact.unit)


def _line(traveller: Traveller) -> list[dict[str, Any]]:
    """Return the stations as the job's page draws them, with the gates before each."""
    stage = Stage(traveller.job.stage)
    places = [one for one, _gates in LINE]
    on_line = Stage.OPENED if stage == Stage.AWAITING_PARTS else stage
    here = places.index(on_line) if on_line in places else -1
    return [
        {
            "title": spaced(one).capitalize(),
            "state": "here" if place == here else "done" if place < here else "ahead",
            "day": _("awaiting parts") if stage != on_line and one == on_line else "",
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
    released = traveller.record.of_type(Released.event_type)[-1]
    return common_fields(traveller, _("Release record")) | {
        # The rules it was released by, whatever edition is in force today.
        "pack": _("Rules it was released by: SHA-256 {hash}").format(hash=released.data["pack"]),
        "verdict": _verdict(released),
        "lists": _work(traveller),
        **reading_table(traveller),
        "soak": typeset(_soak(traveller, soak_ends[-1])) if soak_ends else "",
        "trials": _trials(traveller),
        "signed": [_signed(row) for row in traveller.record.rows if _is_signature(row)],
        "cautions": caution(SHUT),
        "charts": [],
        "pairs": [],
        "signed_head": [],
        "agreed": _agreed(traveller),
    }


def _verdict(released: AnyRow) -> str:
    if not released.by_name:
        said = _("Repaired, tested and released on {day} by the shop.")
        return said.format(day=day(released.at))
    said = _("Repaired, tested and released on {day} by {name}.")
    return said.format(day=day(released.at), name=released.by_name)


def _soak(traveller: Traveller, ended: AnyRow) -> str:
    """Return how long the last soak ran, and how it ended."""
    run = soaking.soak_of(traveller.record, traveller.checklist)
    result = "; ".join(events.words(ended))
    if not run:
        return f"{result}."
    said = _("{time} with mains on: {result}.")
    return said.format(time=hours(run.run_minutes(ended.at)), result=result)


def _agreed(traveller: Traveller) -> str:
    """Return what was agreed with the customer, as the ledger has it."""
    agreement = traveller.record.agreement
    if agreement.answer != "yes" or agreement.covers is None or "total" not in agreement.covers:
        return ""
    row = traveller.record.of_type(EstimateAnswered.event_type)[-1]
    way = way_of(row.data.get("way"))
    said = (
        _("{estimate}, {total}: yes on {day}, {way}.")
        if way
        else _("{estimate}, {total}: yes on {day}.")
    )
    total = brief_price(agreement.covers["total"], preferences.value("currency"))
    return said.format(estimate=_estimate(agreement.covers), total=total, day=day(row.at), way=way)


def _estimate(covers: Mapping[str, Any]) -> str:
    if "version" not in covers:
        return _("Estimate")
    return _("Estimate, version {version}").format(version=covers["version"])


def handback_note(traveller: Traveller) -> dict[str, Any]:
    """Return the note that goes with a unit that was not repaired; Refused unless withdrawn."""
    if traveller.job.stage != "withdrawn":
        raise refuse("not-withdrawn", _not_yet(traveller, "withdrawn", "hand-back note"))
    return common_fields(traveller, _("Hand-back note")) | {
        "warning": caution(UNREPAIRED),
        "lists": _work(traveller),
        "declined": _declined(traveller),
        "open": not_tested(traveller),
    }


def _declined(traveller: Traveller) -> str:
    """Return that the estimate was declined, and when; nothing when it was not."""
    if traveller.record.agreement.answer != "no":
        return ""
    row = traveller.record.of_type(EstimateAnswered.event_type)[-1]
    way = way_of(row.data.get("way"))
    said = _("You declined it on {day}, {way}.") if way else _("You declined it on {day}.")
    return said.format(day=day(row.at), way=way)


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
    clean = ngettext(
        "{clean} clean trial since the last work; {needed} were asked for.",
        "{clean} clean trials since the last work; {needed} were asked for.",
        trials.clean,
    ).format(clean=trials.clean, needed=trials.needed)
    if not trials.proof:
        return clean
    tested = _("{proof} (Fisher's exact test)").format(proof=trials.proof.says)
    return f"{clean} {tested}"


def _not_yet(traveller: Traveller, wanted: str, document: str) -> str:
    return (
        f"Job {traveller.job.number} is {spaced(traveller.job.stage)}; "
        f"its {document} can be printed once it is {wanted}."
    )


def _work(traveller: Traveller) -> list[list[Any]]:
    return [
        [pgettext("what was found in the unit", "Found"), _lines(traveller, [FindingRecorded])],
        [pgettext("what was done on the unit", "Done"), _lines(traveller, [WorkDone])],
        [pgettext("which parts were fitted", "Parts"), _lines(traveller, [PartFitted])],
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
    instead = _("Instead: {what}").format(what=data["instead"]) if data.get("instead") else ""
    remark = " ".join(filter(None, [data.get("note") or data.get("reason"), instead]))
    result = str(_RESULTS.get(data["result"], data["result"]))
    return [
        typeset(data["title"]),
        result,
        typeset(remark),
        row.by_name or pgettext("who signed", "the shop"),
        when(row.at),
    ]
