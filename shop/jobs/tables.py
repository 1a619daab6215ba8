"""Tables of jobs."""

from __future__ import annotations

from datetime import datetime

import django_tables2 as tables
from django.utils.timesince import timesince

from shop.jobs.models import Job
from shop.jobs.stages import Waiting
from shop.lib.web.tables import WHOLE_ROW

WAITS: dict[str, str] = {
    Waiting.HANDS: "hands",
    Waiting.CUSTOMER: "the customer",
    Waiting.PARTS: "parts",
    Waiting.SOAK_CLOCK: "the soak clock",
    Waiting.NOBODY: "nobody: stalled",
    "": "left",
}


class JobTable(tables.Table):
    """Jobs with where they are and what they wait on."""

    number = tables.Column(
        verbose_name="Job", linkify=("job", {"number": tables.A("number")}), attrs=WHOLE_ROW
    )
    unit = tables.Column(order_by=("unit__make", "unit__model"))
    stage = tables.Column()
    power = tables.Column(verbose_name="Mains")
    waiting = tables.Column(verbose_name="Waits on", order_by=("waiting",))
    next_title = tables.Column(verbose_name="Next act", orderable=False, empty_values=())
    stage_since = tables.Column(
        verbose_name="In this stage for", attrs={"in_file": "In this stage since"}
    )

    class Meta:
        model = Job
        fields = ("number", "unit", "stage", "power", "waiting", "next_title", "stage_since")
        empty_text = "No job fits. Receive a unit, or take a filter away."

    def render_stage(self, value: str) -> str:
        return value.replace("_", " ")

    def render_waiting(self, value: str) -> str:
        return WAITS.get(value, value)

    def render_next_title(self, record: Job) -> str:
        return record.next_title or "nothing open"

    def render_stage_since(self, record: Job) -> str:
        return timesince(record.stage_since, depth=1)

    def value_stage_since(self, value: datetime) -> datetime:
        return value
