"""What the customer said to the estimate."""

from __future__ import annotations

from typing import Annotated

from django import forms

from shop.jobs.agreed import Question
from shop.jobs.events import fields, stored
from shop.jobs.events.base import Event, Follower
from shop.jobs.events.forms import NoteForm, choices
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record

ANSWERS = ("yes", "no", "question")
# How the customer's word came.
WAYS = ("link", "telephone", "letter", "counter", "within-limit")
# What a person at the shop hears it by.
_HEARD = ("telephone", "letter", "counter")


class AnswerForm(NoteForm):
    """The three buttons under what the customer was asked."""

    answer = forms.ChoiceField(choices=choices(ANSWERS))
    way = forms.ChoiceField(choices=choices(_HEARD), required=False)


class EstimateAnswered(Event):
    """What the customer said to the estimate; without `version` to the last one."""

    event_type = "estimate_answered"
    ability = "note"
    followers = frozenset({Follower.PARTS})
    form = AnswerForm

    answer: Annotated[str, fields.OneOf(ANSWERS)]
    version: fields.Version | None = None
    way: Annotated[str, fields.OneOf(WAYS)] | None = None
    note: fields.Note = ""

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Keep the answer, what a yes covers, and a question that came with words."""
        agreed, answer = record.agreement, stored.needed_text(row.data, "answer")
        agreed.answer = answer
        agreed.covers = agreed.sent if answer == "yes" else agreed.covers
        last = stored.whole(agreed.sent or {}, "version")
        if row.data.get("version", last) == last:
            agreed.answers[last] = row
        if answer == "question" and row.data.get("note"):
            record.questions.append(Question(row))
