"""The card in the middle of a job's page: the one thing to do now, or the step that was chosen."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from urllib.parse import urlencode

from django.contrib.auth.models import User
from django.http import QueryDict
from django.utils.timezone import localdate
from django.utils.translation import gettext as _

from checklists.engine import metering
from checklists.engine.checklist import Checklist, ListedStep
from checklists.engine.history import Event
from checklists.engine.vocabulary import VOCABULARY
from shop.accounts import roles
from shop.instruments.models import Instrument
from shop.instruments.queries import Offer, offers
from shop.jobs import sharing
from shop.jobs.earlier_readings import strips
from shop.jobs.events.trial_run import TrialRun
from shop.jobs.names import stage_name
from shop.jobs.next_act import Act
from shop.jobs.queries import Traveller
from shop.jobs.record import Record
from shop.jobs.recorded_readings import recorded_readings
from shop.pages.job import (
    going_on,
    shared_card,
    soak_meters,
    stations,
    usual_choices,
    waiting_minutes,
)
from shop.pages.job.step_views import StepView, new_looks, step_view
from shop.pages.job.trial_series import series
from shop.pages.job.unit_sheet import worth_asking

# Where it was is asked as well, or what it must be: these have a form.
_SHEETS = ("finding_recorded", "work_done", "part_needed")


def head(traveller: Traveller) -> dict[str, Any]:
    """Return what every page of the job has: the bar, the line of stations, what is to be told."""
    return {
        "job": traveller.job,
        "traveller": traveller,
        "stations": (line := stations.stations(traveller)),
        "next_gate": stations.next_gate(line),
        "bar": stations.bar(traveller),
        "just_out": stations.just_out(traveller),
    }


def card(
    traveller: Traveller,
    now: datetime,
    *,
    key: str = "",
    typed: QueryDict | None = None,
    by: User | None = None,
) -> dict[str, Any]:
    """Return the card; `key` chooses a step in place of the next act, `typed` refills its fields.

    `by` is whose instruments are proposed.
    """
    act = traveller.next_act(now)
    listed = traveller.checklist.by_key.get(key or act.key)
    chosen = bool(key) and listed is not None and key != act.key
    view = None
    if listed:
        view = _view(traveller, listed, typed or QueryDict(), _instruments(listed, now, by))
    along = _beside(traveller, listed) if listed and not chosen else []
    return head(traveller) | {
        "act": None if chosen else act,
        "then": None if chosen else _then(act),
        "mains_on": "power" in (act.act, act.then.act if act.then else ""),
        "seconds": _seconds(act, now),
        "next": view,
        "folded": bool(along) and listed is not None and sharing.is_long([listed, *along]),
        "along": (
            others := [
                _along(traveller, one, typed or QueryDict(), _instruments(one, now, by))
                for one in along
            ]
        ),
        "metered": any(one.metered for one in [view, *others] if one),
        "wait_minutes": waiting_minutes.after_discharge([listed, *along]) if listed else None,
        "progress": _progress(traveller.checklist, listed),
        "with_the_soak": _with_the_soak(traveller, act, by),
        "charged": (charged := traveller.before_hands),
        "charged_keys": (keys := [step.key for step in charged]),
        "heading": _heading(listed, keys, chosen=chosen),
        "from_the_list": chosen and listed is not None and listed.key not in keys,
        "twins": [] if traveller.job.closed else traveller.job.twins,
        **_choices_of(choices := _choices(act), traveller.record),
        "signature": _signature(traveller, listed),
        "asked": _asked(choices),
        "series": series(traveller, typed) if _tries(choices) else None,
        **({} if chosen else soak_meters.on_card(traveller, act, now, by)),
    }


def _beside(traveller: Traveller, listed: ListedStep) -> list[ListedStep]:
    return sharing.beside(traveller.job, traveller.record, traveller.checklist, listed)


def _with_the_soak(traveller: Traveller, act: Act, by: User | None) -> list[ListedStep]:
    """Return what one signs with the words that the soak ran well; nothing where it is not for them."""
    if act.then is None or act.then.act != "sign" or by is None or not roles.may(by, "sign"):
        return []
    found = sharing.once_soaked(traveller.job, traveller.record, traveller.checklist)
    return found if all(roles.role_of(by) in one.step.signed_by for one in found) else []


def _seconds(act: Act, now: datetime) -> int:
    """Return in how many seconds what is waited for is over: then the card is asked for anew."""
    return max(1, int((act.until - now).total_seconds()) + 1) if act.until else 0


def _then(act: Act) -> tuple[str, str, str] | None:
    """Return the name of the move that this one is made for, the words for both, and what else it does."""
    then = act.then
    if then is None:
        return None
    also = _with_it(act) if act.act == "stage" else ""
    words = then.title if act.act == "stage" else act.title
    if then.act == "stage":
        also = _with_it(then)
    return going_on.name_of(then), words, also


def _with_it(move: Act) -> str:
    return _("With it the job is {stage}.").format(stage=stage_name(move.to))


def _tries(choices: list[Mapping[str, Any]]) -> bool:
    return any(one["kind"] == TrialRun.event_type for one in choices)


def _heading(listed: ListedStep | None, charged: list[str], *, chosen: bool) -> str:
    if listed is not None and listed.key in charged:
        return _("Treat as charged: prove it dead")
    return _("From the list") if chosen else _("Do now")


def _instruments(listed: ListedStep, now: datetime, by: User | None) -> list[Offer]:
    measured = [reading.measures for reading in listed.readings if reading.measures]
    return offers(measured, by=by, on=localdate(now))


def _along(
    traveller: Traveller,
    listed: ListedStep,
    typed: QueryDict,
    instruments: list[Offer],
) -> StepView:
    mine = shared_card.own(typed, listed.key)
    return _view(traveller, listed, mine, instruments, shared_card.before(listed.key))


def _view(
    traveller: Traveller,
    listed: ListedStep,
    typed: QueryDict,
    instruments: list[Offer],
    before: str = "",
) -> StepView:
    unit = traveller.job.unit
    asked = {reading.quantity for reading in listed.readings}
    past = strips(unit.make, unit.model, asked, but=traveller.job.number) if asked else {}
    recorded = recorded_readings(traveller.record, listed)
    looks = new_looks(traveller, listed.key)
    meters = _meters(traveller, listed, instruments)
    return step_view(listed, typed, past, looks, recorded, instruments, before, meters)


def _meters(
    traveller: Traveller, listed: ListedStep, offers: list[Offer]
) -> dict[str, list[Instrument]]:
    """Return what may be asked over a line for a reading of this step, by what is measured."""
    pack = traveller.checklist.pack
    return {
        offer.measures: offer.connected
        for offer in offers
        if offer.connected and not metering.why_not(pack, listed.step, offer.measures)
    }


def one_step(
    traveller: Traveller, key: str, typed: QueryDict, now: datetime, *, by: User
) -> StepView:
    """Return one step of the list with what is typed in its fields, under their plain names."""
    listed = traveller.checklist.by_key[key]
    return _view(traveller, listed, typed, _instruments(listed, now, by))


def _signature(traveller: Traveller, listed: ListedStep | None) -> Event | None:
    """Return the last sign-off of the step; None when there is none that counts."""
    signed = traveller.record.history.signoffs.get(listed.key) if listed else None
    return signed[-1] if signed else None


def _progress(checklist: Checklist, listed: ListedStep | None) -> tuple[int, int, str] | None:
    """Return which hold step of its gate this is, of how many, and the gate."""
    if listed is None or not listed.step.hold or not listed.gate:
        return None
    steps = checklist.gate(listed.gate)
    return sum(1 for step in steps if step.stands) + 1, len(steps), listed.gate


def _asked(choices: list[Mapping[str, Any]]) -> tuple[str, str, Any] | None:
    """Return name, words and field of the fact that the act asks for."""
    names = [one["data"].get("name", "") for one in choices if one["kind"] == "fact_recorded"]
    return worth_asking([names[0]])[0] if names and names[0] in VOCABULARY else None


def _choices(act: Act) -> list[Mapping[str, Any]]:
    """Return what the act lets one write: by a `tap`, or on a `sheet` that comes into the card."""
    alone = [{"title": act.title, **act.more}] if act.more.get("kind") else []
    choices = act.more.get("choices", alone)
    return [_choice(one) for one in choices]


def _choices_of(choices: list[Mapping[str, Any]], record: Record) -> dict[str, Any]:
    """Return the choices as the card parts them: at once, behind a fold, and what ends the list."""
    first, others, last = usual_choices.parted(choices, record)
    return {"choices": first, "other_choices": others, "last_choices": last}


def _choice(one: Mapping[str, Any]) -> Mapping[str, Any]:
    sheet = one["kind"] in _SHEETS
    return {**one, "sheet": sheet, "tap": not (sheet or one["needs"]), "query": _query(one)}


def _query(choice: Mapping[str, Any]) -> str:
    """Return the question that fills the form of the entry with what the act names."""
    return urlencode({"what": choice["kind"], **choice["data"]})
