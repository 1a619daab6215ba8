"""Marks of work and fitting that was not done by a hand in the open unit, here and now."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

from django import forms
from django.utils import timezone
from django.utils.dateparse import parse_datetime
from django.utils.translation import gettext, gettext_noop
from django.utils.translation import gettext_lazy as _
from pydantic import BeforeValidator, Field, ValidationInfo

from checklists.engine.acts import Work
from checklists.engine.quoting import quoted
from checklists.engine.words import HANDS
from shop.jobs import guards
from shop.jobs.events import fields, stored
from shop.jobs.events.base import Event, Transaction
from shop.jobs.events.forms import EventForm
from shop.jobs.ledger import AnyRow
from shop.lib.refusals import Refusal, bad, refuse

# Tiles of the form; the API takes any short reason.
LATE_REASONS = (
    gettext_noop("forgotten"),
    gettext_noop("hands full"),
    gettext_noop("page was not at hand"),
    gettext_noop("another person did it"),
)


def _moment(value: Any, info: ValidationInfo) -> str:
    """Return a moment as ISO 8601 with its offset; one without is in the time zone of the shop."""
    name = str(info.field_name)
    try:
        moment = parse_datetime(str(value))
    except ValueError:
        moment = None
    if moment is None:
        raise bad(
            name,
            gettext("{name} is {value}; write a moment like 2026-03-02T10:00+01:00.").format(
                name=name, value=quoted(value)
            ),
        )
    return (moment if timezone.is_aware(moment) else timezone.make_aware(moment)).isoformat()


Moment = Annotated[str, BeforeValidator(_moment), Field(examples=["2026-03-02T10:00:00+01:00"])]


class MarksForm(EventForm):
    """Where and when it was done, when not inside and now."""

    where = forms.ChoiceField(
        label=_("Where"),
        required=False,
        choices=[
            ("", _("inside, cover off")),
            ("from_outside", _("from outside, cover on")),
            ("board_out", _("on the board, out of the unit")),
            ("before", _("before this job, by others")),
        ],
    )
    late = forms.ChoiceField(
        label=_("Told late because"),
        required=False,
        choices=[("", _("not late")), *((reason, _(reason)) for reason in LATE_REASONS)],
    )
    done_at = forms.DateTimeField(
        label=_("Done at"),
        required=False,
        widget=forms.DateTimeInput(attrs={"type": "datetime-local"}),
    )

    def data_for_row(self) -> dict[str, Any]:
        """Return the data of the event, the place as its mark."""
        data = super().data_for_row()
        where = data.pop("where", "")
        if "done_at" in data:
            data["done_at"] = data["done_at"].isoformat()
        return data | ({where: True} if where else {})


class Marked(Event):
    """Work or fitting: by a hand in the open unit, or marked as something else."""

    exposure = HANDS

    late: Annotated[str, fields.Text(120)] | None = None
    done_at: Moment | None = None
    before: fields.Flag | None = None
    from_outside: fields.Flag | None = None
    board_out: fields.Flag | None = None

    @property
    def kind_of_work(self) -> str:
        """The word of the work; empty for a part."""
        return ""

    def hands_refusals(self, tx: Transaction) -> list[Refusal]:
        """Return the reasons against a hand in the unit now; none for what was done already.

        What is told late is taken at any time: it clears nothing and raises what it raises.
        """
        late = bool(self.late or self.done_at)
        if late:
            self._require_past(tx)
        work = Work(
            kind=self.kind_of_work,
            done_already=late or bool(self.before),
            from_outside=bool(self.from_outside),
            board_out=bool(self.board_out),
        )
        return guards.against_work(tx.job, tx.checklist, work)

    def _require_past(self, tx: Transaction) -> None:
        if not (self.late and self.done_at):
            absent = "done_at" if self.late else "late"
            raise refuse(
                "late-entry",
                gettext(
                    "A late entry needs late (why) and done_at (when); {absent} is missing."
                ).format(absent=absent),
            )
        done = datetime.fromisoformat(self.done_at)
        if done > tx.at:
            raise bad(
                "done_at",
                gettext("done_at is {done_at}; it must not lie ahead of now.").format(
                    done_at=self.done_at
                ),
            )

    @classmethod
    def marks_of(cls, row: AnyRow) -> dict[str, Any]:
        """Return what the history keeps of the marks of a stored row."""
        done_at = stored.text(row.data, "done_at")
        return {
            "section": stored.text(row.data, "section"),
            "from_outside": row.data.get("from_outside") is True,
            "done_at": datetime.fromisoformat(done_at) if done_at else None,
        }

    @classmethod
    def marks_in_words(cls, data: stored.Data) -> list[str]:
        """Say the marks of a stored row."""
        said = {
            "from_outside": gettext("from outside"),
            "board_out": gettext("on the board, out of the unit"),
            "before": gettext("before this job"),
        }
        words = [phrase for name, phrase in said.items() if data.get(name) is True]
        if late := stored.text(data, "late"):
            done = stored.text(data, "done_at")[:16]
            words.append(
                gettext("told late ({why}), done {moment}").format(why=gettext(late), moment=done)
            )
        return words
