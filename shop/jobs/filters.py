"""Filters of the list of jobs."""

from __future__ import annotations

import django_filters
from django.db.models import QuerySet

from shop.jobs.models import Job
from shop.jobs.stages import OPEN, Power, Stage, Waiting
from shop.lib.web import filters


def _words(named: type[Stage] | type[Power] | type[Waiting]) -> list[tuple[str, str]]:
    return [(one.value, one.value.replace("_", " ")) for one in named]


class JobFilter(django_filters.FilterSet):
    """By stage, mains, and who is waited for; closed jobs only where they are asked for."""

    stage = filters.choice("Stage", _words(Stage))
    power = filters.choice("Mains", _words(Power))
    waiting = filters.choice("Waiting", _words(Waiting))
    closed = filters.choice(
        "Closed ones", [("yes", "shown")], empty="left out", method=lambda qs, _, __: qs
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
