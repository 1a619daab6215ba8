"""Forms of the reminders."""

from __future__ import annotations

from datetime import datetime, timedelta

from django import forms
from django.contrib.auth.models import User
from django.utils.translation import gettext_lazy as _

from shop.reminders.models import EmailPreference


class SnoozeForm(forms.Form):
    """For how long, and why."""

    days = forms.TypedChoiceField(
        label=_("Snooze for"),
        coerce=float,
        choices=(
            (0.125, _("three hours")),
            (1, _("a day")),
            (3, _("three days")),
            (7, _("a week")),
            (28, _("four weeks")),
        ),
        initial=1,
    )
    reason = forms.CharField(label=_("Because"), max_length=400)

    def until(self, now: datetime) -> datetime:
        """Return the moment it ends."""
        return now + timedelta(days=self.cleaned_data["days"])


class MailForm(forms.Form):
    """How to be told by e-mail, and where."""

    way = forms.ChoiceField(label=_("Write to me"), choices=EmailPreference.WAYS)
    email = forms.EmailField(label=_("Address"), required=False, max_length=254)

    def save(self, person: User) -> None:
        """Keep the wish and the address."""
        EmailPreference.objects.update_or_create(
            person=person, defaults={"way": self.cleaned_data["way"]}
        )
        person.email = self.cleaned_data["email"]
        person.save(update_fields=["email"])
