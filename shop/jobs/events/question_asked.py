"""A question of the customer, asked on the page by link."""

from __future__ import annotations

from shop.jobs.agreed import Question
from shop.jobs.events.base import Event
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record


class QuestionAsked(Event):
    """A question of the customer."""

    event_type = "question_asked"
    people_write_it = False
    on_closed_job = True
    customers_words = True

    text: str

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Add it to what is open."""
        record.questions.append(Question(row))
