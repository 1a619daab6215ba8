"""Anything else worth keeping."""

from __future__ import annotations

from django import forms
from django.utils.translation import gettext_lazy as _

from shop.jobs.events import fields, stored
from shop.jobs.events.base import Event
from shop.jobs.events.forms import EventForm


class AnyNoteForm(EventForm):
    """Anything else."""

    title = _("A note")
    text = forms.CharField(label=_("Note"), widget=forms.Textarea(attrs={"rows": 3}))


class NoteAdded(Event):
    """Anything else worth keeping, also once the unit has left."""

    event_type = "note_added"
    ability = "note"
    on_closed_job = True
    form = AnyNoteForm
    on_paper = True

    text: fields.Words

    @classmethod
    def words(cls, data: stored.Data) -> list[str]:
        """Say what was written."""
        return [stored.needed_text(data, "text")]
