"""Tables of jobs."""

from __future__ import annotations

import django_tables2 as tables
from django.utils.timesince import timesince

from shop.jobs.models import Job, LedgerRow
from shop.jobs.stages import Waiting

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

    number = tables.Column(verbose_name="Job", linkify=("job", {"number": tables.A("number")}))
    unit = tables.Column(order_by=("unit__make", "unit__model"))
    stage = tables.Column()
    power = tables.Column(verbose_name="Mains")
    waiting = tables.Column(verbose_name="Waits on", order_by=("waiting",))
    next_title = tables.Column(verbose_name="Next act", orderable=False, empty_values=())
    stage_since = tables.Column(verbose_name="In this stage for")

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


class LedgerTable(tables.Table):
    """All rows of one job."""

    sequence = tables.Column(verbose_name="Row")
    at = tables.DateTimeColumn(format="Y-m-d H:i:s")
    event_type = tables.Column(verbose_name="Event")
    by_name = tables.Column(verbose_name="By")
    body = tables.TemplateColumn(
        template_name="jobs/_row_data.html", orderable=False, verbose_name="What"
    )
    hash = tables.Column(orderable=False, verbose_name="Hash")

    class Meta:
        model = LedgerRow
        fields = ("sequence", "at", "event_type", "by_name", "body", "hash")
        empty_text = "Nothing on record."

    def render_event_type(self, value: str) -> str:
        return value.replace("_", " ")

    def render_hash(self, value: str) -> str:
        return value[:12]
