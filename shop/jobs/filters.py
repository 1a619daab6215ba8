"""Filters of the list of jobs."""

from __future__ import annotations

import django_filters
from django.db.models import QuerySet
from django.utils.translation import gettext_lazy as _

from shop.jobs import names
from shop.jobs.models import Job
from shop.jobs.stages import OPEN, Waiting
from shop.lib.web import filters

_WAITING = (
    (Waiting.HANDS, _("hands")),
    (Waiting.CUSTOMER, _("owner")),
    (Waiting.PARTS, _("parts")),
    (Waiting.SOAK_CLOCK, _("soak-clock")),
    (Waiting.NOBODY, _("nobody")),
)


class JobFilter(django_filters.FilterSet):
    """By stage, mains, and who is waited for; closed jobs only where they are asked for."""

    stage = filters.choice(_("Stage"), tuple(names.STAGES.items()))
    power = filters.choice(_("Mains"), tuple(names.POWER.items()))
    waiting = filters.choice(_("Waiting"), _WAITING)
    closed = filters.choice(
        _("Closed ones"),
        [("yes", _("shown"))],
        empty=_("left out"),
        method=lambda qs, *_: qs,
    )

    class Meta:
        model = Job
        fields: tuple[str, ...] = ()

    def filter_queryset(self, queryset: QuerySet) -> QuerySet:
        """Leave out what is closed, unless a stage or those are asked for."""
        listed = super().filter_queryset(queryset)
        given = self.form.cleaned_data
        everything = given.get("stage") or given.get("closed")
        return listed if everything else listed.filter(stage__in=OPEN)
