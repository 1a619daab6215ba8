"""The unit left the house."""

from __future__ import annotations

from typing import Annotated

from django.utils.translation import gettext as _

from shop.jobs.events import fields
from shop.jobs.events.base import Event, Transaction
from shop.lib.refusals import Refusal


class Shipped(Event):
    """The unit left the house; only once the job is closed."""

    event_type = "shipped"
    ability = "note"
    on_closed_job = True

    carrier: Annotated[str, fields.Text(fields.LONGEST_NAME)] = ""
    tracking: Annotated[str, fields.Text(fields.LONGEST_NAME)] = ""
    note: fields.Note = ""

    def check(self, tx: Transaction) -> list[Refusal]:
        """That it is released or withdrawn."""
        if tx.job.closed:
            return []
        sentence = _("The unit is on the bench: release or withdraw it first.")
        return [Refusal("not-closed", sentence)]
