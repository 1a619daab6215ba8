"""Units, jobs, permits and the ledger."""

from __future__ import annotations

import json
from collections.abc import Iterable
from functools import cached_property
from typing import Any

from django.contrib.auth.models import User
from django.db import DEFAULT_DB_ALIAS, models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext
from django_fsm import FSMField, FSMModelMixin, TransitionNotAllowed, transition

from shop.jobs.projected import JobCause, JobPart, JobReading, StageVisit
from shop.jobs.signed import HeadSignature, ShopKey
from shop.jobs.stages import CLOSED, FOLLOWS, Cover, Power, Stage, Waiting
from shop.lib.prepared import PreparedRows
from shop.lib.prepared_writes import change, field_of
from shop.lib.refusals import Refusal, Refused

__all__ = [
    "HeadSignature",
    "Job",
    "JobCause",
    "JobPart",
    "JobReading",
    "LedgerRow",
    "Permit",
    "ShopKey",
    "StageVisit",
    "StaleJob",
    "Unit",
]


class StaleJob(Refused):
    """The row was saved by somebody else since it was read."""

    def __init__(self, number: int) -> None:
        super().__init__(
            [
                Refusal(
                    "stale",
                    gettext("Job {number} was changed by somebody else.").format(number=number),
                )
            ]
        )


class Unit(models.Model):
    """The equipment; it may come back for another job."""

    make = models.CharField(max_length=120, blank=True)
    model = models.CharField(max_length=120, blank=True)
    serial = models.CharField(max_length=120, blank=True)
    # What spellings of one unit share (`identity_of`); empty when nothing identifies it.
    identity = models.CharField(max_length=64, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["identity"], condition=~Q(identity=""), name="unit_once"
            ),
        ]
        indexes = [
            models.Index(fields=["serial", "make", "model"], name="unit_identity"),
            models.Index(fields=["make", "model"], name="unit_model"),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def name(self) -> str:
        """Make and model, as far as they are known."""
        known = " ".join(part for part in (self.make, self.model) if part)
        return known or gettext("Unit without a name")

    def open_jobs(self) -> list[int]:
        """Return the numbers of its open jobs; more than one only in shops of older releases."""
        return [number for (number,) in _OPEN_OF_UNIT(self.pk)]


def cleared_for(target: str) -> Any:
    """Return an FSM condition: a transition runs only after the guards have cleared this target.

    The conditions of the library see the instance alone; the guards need the checklist. So
    the door sets `clearance` once the guards found nothing, and everything else is refused.
    """

    def cleared(job: Job) -> bool:
        return job.clearance == target

    return cleared


def _into(stage: Stage, field: FSMField) -> Any:
    """Return the decorator of the transition into a stage, from each that FOLLOWS lets it follow."""
    sources = [before.value for before, ways in FOLLOWS.items() if stage in ways]
    cleared = [cleared_for(stage.value)]
    return transition(field, source=sources, target=stage.value, conditions=cleared)


class Job(FSMModelMixin, models.Model):
    """One stay of a unit. Written only through `shop.jobs.commands`."""

    number = models.BigAutoField(primary_key=True)
    unit = models.ForeignKey(Unit, on_delete=models.PROTECT, related_name="jobs")
    # The number somebody else gave it; makes a second import of the same file harmless.
    reference = models.CharField(max_length=120, null=True, blank=True, unique=True)
    complaint = models.TextField(blank=True)
    returned_from = models.ForeignKey("self", on_delete=models.PROTECT, null=True, blank=True)
    # The open job of the same unit that took this one over.
    joined_into = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="joined"
    )

    stage = FSMField(default=Stage.RECEIVED.value, protected=True, max_length=20)
    power = FSMField(default=Power.ISOLATED.value, protected=True, max_length=20)
    cover = FSMField(default=Cover.ON.value, protected=True, max_length=20)
    # The permit fell while mains was on: nothing else moves until somebody confirms the plug.
    unplug_due = models.BooleanField(default=False)

    received_at = models.DateTimeField()
    stage_since = models.DateTimeField()
    due_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)

    # Kept by every write from the ledger, so that lists need no derivation per row.
    waiting_on = models.CharField(max_length=12, default=Waiting.HANDS.value, blank=True)
    next_step = models.CharField(max_length=80, blank=True)
    next_title = models.CharField(max_length=200, blank=True)
    holds_open = models.PositiveIntegerField(default=0)
    kind = models.CharField(max_length=40, blank=True)
    # Whose hands it was in last: who is told when something comes of it.
    technician = models.ForeignKey(
        User, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    promised_on = models.DateField(null=True, blank=True)
    # The last required part came while the unit lay on the shelf.
    ready_since = models.DateTimeField(null=True, blank=True)
    customer_asked = models.BooleanField(default=False, db_column="owner_asked")
    waiting_since = models.DateTimeField(null=True, blank=True)
    pack_digest = models.CharField(max_length=64, blank=True)
    head = models.PositiveIntegerField(default=0)
    version = models.PositiveIntegerField(default=0)

    clearance = ""

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(stage__in=[s.value for s in Stage]), name="job_stage_known"
            ),
            models.CheckConstraint(
                condition=Q(power__in=[p.value for p in Power]), name="job_power_known"
            ),
            models.CheckConstraint(
                condition=Q(cover__in=[c.value for c in Cover]), name="job_cover_known"
            ),
            models.CheckConstraint(
                condition=~Q(stage__in=[s.value for s in CLOSED]) | Q(power=Power.ISOLATED.value),
                name="job_closed_is_isolated",
            ),
        ]
        indexes = [
            models.Index(fields=["stage", "-number"], name="job_stage"),
            models.Index(
                fields=["due_at"], name="job_due_open", condition=Q(closed_at__isnull=True)
            ),
            # These hold all that the counts of the flow ask for.
            models.Index(fields=["received_at", "returned_from"], name="job_received_returned"),
            models.Index(
                fields=["closed_at", "stage", "received_at"],
                name="job_closed_stage",
                condition=Q(closed_at__isnull=False),
            ),
            models.Index(fields=["stage", "kind", "closed_at"], name="job_stage_kind_closed"),
            models.Index(
                fields=["stage", "stage_since", "received_at"],
                name="job_open_stage",
                condition=Q(closed_at__isnull=True),
            ),
            models.Index(
                fields=["number"], name="job_customer_asked", condition=Q(customer_asked=True)
            ),
            models.Index(
                fields=["-number"],
                name="job_energised",
                condition=~Q(power=Power.ISOLATED.value),
            ),
        ]

    def __str__(self) -> str:
        return gettext("Job {number}: {unit}").format(number=self.number, unit=self.unit)

    def get_absolute_url(self) -> str:
        """Return the address of the job's page."""
        return reverse("job", args=[self.pk])

    @cached_property
    def twins(self) -> list[int]:
        """The other open jobs of its unit, as older shops may have them; looked up once."""
        return [number for (number,) in _OPEN_OF_UNIT(self.unit_id) if number != self.number]

    def live_twins(self) -> list[int]:
        """Return those of them that have mains on now."""
        if not self.twins:
            return []
        live = Job.objects.filter(pk__in=self.twins).exclude(power=Power.ISOLATED.value)
        return list(live.order_by("number").values_list("number", flat=True))

    @property
    def closed(self) -> bool:
        """Whether the unit has left."""
        return self.stage in CLOSED

    @property
    def energised(self) -> bool:
        """Whether the unit has mains, through the limiter or without."""
        return self.power != Power.ISOLATED.value

    def save(self, *, update_fields: Iterable[str] | None = None, **more: Any) -> None:  # type: ignore[override]
        """Insert a new job; write a known one only while it has the version that was read.

        StaleJob otherwise: a stale instance writes nothing, not even a column that nobody else changed.
        """
        if self._state.adding:
            super().save(update_fields=update_fields, **more)
            return
        if update_fields is None:  # as Django: all that was read
            columns = {field.attname for field in self._meta.concrete_fields}
            update_fields = sorted(columns - self.get_deferred_fields())
        fields = dict.fromkeys(field_of(Job, name) for name in update_fields if name != "number")
        values = {field.attname: field.pre_save(self, add=False) for field in fields}
        as_read = {"number": self.pk, "version": self.version}
        using = more.get("using") or self._state.db or DEFAULT_DB_ALIAS
        if not change(Job, values | {"version": self.version + 1}, as_read, using=using):
            raise StaleJob(self.pk)
        self.version += 1

    @transition(
        power,
        source=Power.ISOLATED.value,
        target=Power.LIMITED.value,
        conditions=[cleared_for("limited")],
    )
    def apply_limited(self) -> None:
        """Mains through the limiter."""

    @transition(
        power,
        source=[Power.LIMITED.value, Power.ISOLATED.value],
        target=Power.FULL.value,
        conditions=[cleared_for("full")],
    )
    def apply_full(self) -> None:
        """Mains without the limiter: it comes out, or the unit has passed its trial on it."""

    @transition(
        power,
        source=[Power.ISOLATED.value, Power.LIMITED.value, Power.FULL.value],
        target=Power.ISOLATED.value,
    )
    def isolate(self) -> None:
        """Mains off. Never conditional."""

    @transition(
        cover, source=Cover.ON.value, target=Cover.OFF.value, conditions=[cleared_for("off")]
    )
    def take_cover_off(self) -> None:
        """Hands may go in."""

    @transition(cover, source=Cover.OFF.value, target=Cover.ON.value)
    def put_cover_on(self) -> None:
        """Hands are out."""

    @_into(Stage.REPRODUCING, stage)
    def start_reproducing(self) -> None:
        """See the complaint."""

    @_into(Stage.OPENED, stage)
    def put_on_bench(self) -> None:
        """Open on the bench."""

    @_into(Stage.AWAITING_PARTS, stage)
    def await_parts(self) -> None:
        """On the shelf until a part arrives."""

    @_into(Stage.REASSEMBLED, stage)
    def reassemble(self) -> None:
        """Work done, together again."""

    @_into(Stage.SOAKING, stage)
    def start_soaking(self) -> None:
        """The long run."""

    @_into(Stage.RELEASED, stage)
    def release(self) -> None:
        """Leaves as repaired."""

    @_into(Stage.WITHDRAWN, stage)
    def withdraw(self) -> None:
        """Leaves unrepaired."""

    def move_to(self, stage: Stage) -> None:
        """Make the one transition into a stage; TransitionNotAllowed unless it can follow and was cleared."""
        ways = self._meta.get_field("stage").get_all_transitions(type(self))  # type: ignore[union-attr]
        name = next((way.name for way in ways if way.target == stage.value), None)
        if name is None:
            raise TransitionNotAllowed(f"No stage leads to {stage}.", object=self)
        getattr(self, name)()


_OPEN_OF_UNIT = PreparedRows(
    lambda unit: Job.objects.filter(unit_id=unit, closed_at=None).order_by("number"),
    int,
    columns=["number"],
)


class Permit(models.Model):
    """Leave to have mains on one unit. Never changed, only ended; power without one cannot be stored.

    While full mains follows on the limiter both are live, for as long as the transaction lasts.
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="permits")
    power = models.CharField(max_length=20)
    gates = models.CharField(max_length=80)
    granted_at = models.DateTimeField()
    granted_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_because = models.CharField(max_length=400, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["job", "power"],
                condition=Q(ended_at__isnull=True),
                name="permit_one_live_of_a_power",
            ),
            models.CheckConstraint(
                condition=Q(power__in=[Power.LIMITED.value, Power.FULL.value]),
                name="permit_power_known",
            ),
        ]

    def __str__(self) -> str:
        return f"Permit for {self.power} power on job {self.job_id}"


def data_of(body: str) -> dict[str, Any]:
    """Return the data of a ledger row; what is no JSON object stands under one name, as it is."""
    try:
        data = json.loads(body)
    except (ValueError, RecursionError):
        data = None
    return data if isinstance(data, dict) else {"unreadable": body}


class LedgerRow(models.Model):
    """One row of a job's record; never updated and never deleted.

    `body` keeps the data as the very text that was hashed: a JSON column may write numbers
    its own way and break the chain.
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="ledger")
    sequence = models.PositiveIntegerField()
    event_type = models.CharField(max_length=30, db_column="kind")
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")
    by_name = models.CharField(max_length=150, blank=True)
    body = models.TextField()
    previous = models.CharField(max_length=64, blank=True)
    hash = models.CharField(max_length=64)

    class Meta:
        ordering = ["job", "sequence"]
        constraints = [
            models.UniqueConstraint(fields=["job", "sequence"], name="ledger_one_row_per_place"),
        ]

    def __str__(self) -> str:
        return f"{self.job_id}/{self.sequence} {self.event_type}"

    @cached_property
    def data(self) -> dict[str, Any]:
        """What the row records."""
        return data_of(self.body)
