"""What the shop said to the customer's questions, on the page by link."""

from __future__ import annotations

from shop.jobs.agreed import Question
from shop.jobs.events import fields
from shop.jobs.events.base import Event
from shop.jobs.ledger import AnyRow
from shop.jobs.record import Record


class QuestionReplied(Event):
    """What the shop said to the customer; it answers all questions that are open."""

    event_type = "question_replied"
    ability = "note"
    on_closed_job = True

    text: fields.Words

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Answer what is open."""
        record.questions = [
            question if question.reply else Question(question.asked, row)
            for question in record.questions
        ]
