"""Tables of jobs."""

from __future__ import annotations

from datetime import datetime

import django_tables2 as tables
from django.utils.functional import Promise
from django.utils.timesince import timesince
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, pgettext_lazy

from shop.jobs.models import Job
from shop.jobs.names import power_name, stage_name, translated
from shop.jobs.stages import Waiting
from shop.lib.web.tables import WHOLE_ROW

WAITS: dict[str, Promise] = {
    Waiting.HANDS: pgettext_lazy("a job waits on", "hands"),
    Waiting.CUSTOMER: pgettext_lazy("a job waits on", "the customer"),
    Waiting.PARTS: pgettext_lazy("a job waits on", "parts"),
    Waiting.SOAK_CLOCK: pgettext_lazy("a job waits on", "the soak clock"),
    Waiting.NOBODY: pgettext_lazy("a job waits on", "nobody: stalled"),
    "": pgettext_lazy("a job waits on", "left"),
}


class JobTable(tables.Table):
    """Jobs with where they are and what they wait on."""

    number = tables.Column(
        verbose_name=gettext_lazy("Job"),
        linkify=("job", {"number": tables.A("number")}),
        attrs=WHOLE_ROW,
    )
    unit = tables.Column(verbose_name=gettext_lazy("Unit"), order_by=("unit__make", "unit__model"))
    stage = tables.Column(verbose_name=gettext_lazy("Stage"))
    power = tables.Column(verbose_name=gettext_lazy("Mains"))
    waiting = tables.Column(verbose_name=gettext_lazy("Waits on"), order_by=("waiting",))
    next_title = tables.Column(
        verbose_name=gettext_lazy("Next act"), orderable=False, empty_values=()
    )
    stage_since = tables.Column(
        verbose_name=gettext_lazy("In this stage for"),
        attrs={"in_file": gettext_lazy("In this stage since")},
    )

    class Meta:
        model = Job
        fields = ("number", "unit", "stage", "power", "waiting", "next_title", "stage_since")
        empty_text = gettext_lazy("No job fits. Receive a unit, or take a filter away.")

    def render_stage(self, value: str) -> str:
        return stage_name(value)

    def render_power(self, value: str) -> str:
        return power_name(value)

    def render_waiting(self, value: str) -> str:
        return str(WAITS.get(value, value))

    def render_next_title(self, record: Job) -> str:
        return translated(record.next_title) or _("nothing open")

    def render_stage_since(self, record: Job) -> str:
        return timesince(record.stage_since, depth=1)

    def value_stage_since(self, value: datetime) -> datetime:
        return value
