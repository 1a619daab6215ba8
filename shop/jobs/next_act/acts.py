"""The one thing to do now, in a form that pages, the API and hands read alike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any

from django.utils.translation import gettext_noop

from checklists.engine.checklist import ListedStep
from checklists.engine.listed import ListedReading

Json = dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class Act:
    """What to do, in words, and why; `more` is what belongs to this sort of act.

    `act` is one of sign, power, cover, stage, record, open, wait, none.
    """

    act: str
    title: str
    why: str
    more: Mapping[str, Any] = field(default_factory=dict)
    # For the card of the page alone: the move that this one is made for, and what a row written
    # in its place would say.
    then: Act | None = None
    instead: Mapping[str, Any] = field(default_factory=dict)
    # The page that may have to come first, with its words.
    first: tuple[str, str] | None = None

    @property
    def changes_state(self) -> bool:
        """Whether it moves power, cover or stage."""
        return self.act in ("power", "cover", "stage")

    @property
    def key(self) -> str:
        """The step to sign; empty when it is another act."""
        return str(self.more["key"]) if self.act == "sign" else ""

    @property
    def to(self) -> str:
        """Where a move of power, cover or stage leads; empty when it is another act."""
        return str(self.more.get("to", ""))

    @property
    def until(self) -> datetime | None:
        """Until when to wait; None when it is another act."""
        moment = self.more.get("until")
        return datetime.fromisoformat(moment) if moment else None

    def as_dict(self) -> Json:
        """Return it flat, as the API sends it."""
        return {"act": self.act, "title": self.title, "why": self.why, **self.more}


_POWER = {
    "isolated": gettext_noop("Mains off, plug out"),
    "limited": gettext_noop("Mains on, through the limiter"),
    "full": gettext_noop("Mains on without the limiter"),
}
_COVER = {"off": gettext_noop("Take the cover off"), "on": gettext_noop("Put the cover on")}
_STAGE = {
    "reproducing": gettext_noop("See the complaint: move it to reproducing"),
    "opened": gettext_noop("On the bench: move it to opened"),
    "awaiting_parts": gettext_noop("On the shelf: move it to awaiting parts"),
    "reassembled": gettext_noop("It is together again: move it to reassembled"),
    "soaking": gettext_noop("Move it to soaking"),
    "released": gettext_noop("Release it"),
    "withdrawn": gettext_noop("Hand it back unrepaired"),
}


def sign(listed: ListedStep, why: str, recorded: Mapping[str, float]) -> Act:
    """Do a step and sign it; `recorded` are the readings that the record knows."""
    more = {
        "key": listed.key,
        "gate": listed.gate,
        "readings": [_reading(reading, recorded) for reading in listed.readings],
        "answers": [one.as_dict() for one in getattr(listed, "answers", ())],
    }
    return Act(act="sign", title=listed.step.title, why=why, more=more)


def _reading(reading: ListedReading, recorded: Mapping[str, float]) -> Json:
    asked = {
        "quantity": reading.quantity,
        "unit": reading.unit,
        "min": reading.low,
        "max": reading.high,
        "title": reading.title,
        "required": reading.required,
    }
    known = recorded.get(reading.quantity)
    return asked if known is None else {**asked, "recorded": known}


def power(to: str, why: str) -> Act:
    """Move the power."""
    return Act(act="power", title=_POWER[to], why=why, more={"to": to})


def cover(to: str, why: str) -> Act:
    """Move the cover."""
    return Act(act="cover", title=_COVER[to], why=why, more={"to": to})


def stage(to: str, why: str) -> Act:
    """Move the stage."""
    return Act(act="stage", title=_STAGE[to], why=why, more={"to": to})


def leading_to(act: Act, then: Act) -> Act:
    """Return a move with the one that it is made for."""
    return replace(act, then=then)


def with_instead(act: Act, choice: Choice) -> Act:
    """Return an act with what may be recorded instead of doing it."""
    return replace(act, instead={"title": choice.title, **choice.as_dict()})


def with_first(act: Act, page: str, title: str) -> Act:
    """Return an act with the page that may have to come before it."""
    return replace(act, first=(page, title))


@dataclass(frozen=True, kw_only=True)
class Choice:
    """A row to write: its kind, what of its data follows, and what a person still observes."""

    title: str
    kind: str
    data: Mapping[str, Any] = field(default_factory=dict)
    needs: Sequence[Json] = ()

    def as_dict(self) -> Json:
        """Return it as the API sends it."""
        return {"kind": self.kind, "data": dict(self.data), "needs": list(self.needs)}


def record(choice: Choice, why: str) -> Act:
    """Write one row."""
    return Act(act="record", title=choice.title, why=why, more=choice.as_dict())


def choose(title: str, why: str, choices: Sequence[Choice]) -> Act:
    """Write one of several rows. The last one is what lets the unit go on when nothing is wrong."""
    tiles = [{"title": choice.title, **choice.as_dict()} for choice in choices]
    return Act(act="record", title=title, why=why, more={"choices": tiles})


def need(
    name: str,
    kind: str,
    *,
    unit: str = "",
    low: float | None = None,
    high: float | None = None,
    one_of: Sequence[str] = (),
) -> Json:
    """Return what a person observes; `kind` is bool, double, int, string or list."""
    asked: Json = {"name": name, "kind": kind, "unit": unit, "min": low, "max": high}
    return {**asked, "one_of": list(one_of)} if one_of else asked


def wait(until: datetime, on: str, title: str, why: str) -> Act:
    """Let something run until a moment; `on` is soak, parts or customer."""
    return Act(act="wait", title=title, why=why, more={"until": until.isoformat(), "on": on})


def open_page(page: str, title: str, why: str) -> Act:
    """Go to a page of the job."""
    return Act(act="open", title=title, why=why, more={"page": page})


NOTHING = Act(
    act="none", title=gettext_noop("Nothing is left to do"), why=gettext_noop("The job is closed.")
)
