"""The soak is over, passed or failed: its readings have the last word."""

from __future__ import annotations

from typing import Annotated

from django import forms

from shop.jobs import guards, soaking
from shop.jobs.events import fields, stored
from shop.jobs.events.base import Event, Transaction
from shop.jobs.events.forms import NoteForm, choices
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record
from shop.lib.refusals import Refusal

RESULTS = ("pass", "fail")


class SoakEndForm(NoteForm):
    """The two buttons at the end of a soak."""

    result = forms.ChoiceField(choices=choices(RESULTS), required=False)


class SoakEnded(Event):
    """The soak is over; what failed by its readings cannot be written down as passed."""

    event_type = "soak_ended"
    form = SoakEndForm
    filled_in = frozenset({"asked", "reasons"})

    result: Annotated[str, fields.OneOf(RESULTS)] = "pass"
    note: fields.Note = ""
    # What was asked for, and what the readings say.
    asked: str | None = None
    reasons: list[str] | None = None

    def check(self, tx: Transaction) -> list[Refusal]:
        """That a soak runs."""
        return guards.against_no_soak(tx.record)

    def apply(self, tx: Transaction) -> None:
        """Judge it by its readings."""
        run = soaking.soak_of(tx.record, tx.checklist)
        if run is None:
            return
        self.asked = self.result
        self.reasons = [*run.verdict.reasons, *run.verdict.doubts]
        self.result = "fail" if run.verdict.failed else self.result

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """End the run; only a genuine pass has passed."""
        if record.soak_run is not None:
            passed = row.data.get("result") == "pass"
            record.soak_run.end("passed" if passed else "failed", row.at)

    @classmethod
    def words(cls, data: stored.Data) -> list[str]:
        """Say how it ended, why, and the note."""
        ended = "passed" if stored.needed_text(data, "result") == "pass" else "failed"
        said = [ended, *stored.texts(data, "reasons"), stored.text(data, "note")]
        return list(filter(None, said))
