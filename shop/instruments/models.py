"""Instruments, how accurate they are, and which one somebody used last."""

from __future__ import annotations

from datetime import date

from django.contrib.auth.models import User
from django.db import models
from django.db.models import Q

from checklists.engine.words import MEASURED


class Instrument(models.Model):
    """A meter or tester of the shop. One that is retired is kept, for what it measured."""

    name = models.CharField(max_length=80, unique=True)
    make_model = models.CharField(max_length=120, blank=True)
    serial = models.CharField(max_length=120, blank=True)
    calibrated_on = models.DateField(null=True, blank=True)
    due_on = models.DateField(null=True, blank=True)
    retired_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def overdue(self, on: date) -> bool:
        """Whether its calibration was due before this day."""
        return self.due_on is not None and self.due_on < on


class Accuracy(models.Model):
    """How far an instrument may be off on one range; amounts in units without a prefix.

    `measures` is a word of MEASURED. Off by so much: percent of the reading, percent of the
    range, and counts of the last digit (`resolution`), together.
    """

    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, related_name="accuracies")
    measures = models.CharField(max_length=30)
    up_to = models.FloatField()
    reading_percent = models.FloatField(default=0)
    range_percent = models.FloatField(default=0)
    counts = models.FloatField(default=0)
    resolution = models.FloatField(default=0)

    class Meta:
        ordering = ["instrument", "measures", "up_to"]
        constraints = [
            models.UniqueConstraint(
                fields=["instrument", "measures", "up_to"], name="accuracy_once_per_range"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.measures} up to {self.up_to:g} {self.unit}"

    @property
    def unit(self) -> str:
        """The unit without a prefix; empty for a word of another edition."""
        return MEASURED.get(self.measures, ("", ""))[1]


class LastUsed(models.Model):
    """The instrument that somebody used last for what it measures."""

    by = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    measures = models.CharField(max_length=30)
    instrument = models.ForeignKey(Instrument, on_delete=models.CASCADE, related_name="+")

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["by", "measures"], name="last_used_once"),
        ]

    def __str__(self) -> str:
        return f"{self.instrument} for {self.measures}"


class Connection(models.Model):
    """How an instrument is reached and asked. It counts once it has said who it is (`identity`).

    `resource` is its address as VISA writes it. `commands`: what it is asked, by what it measures;
    an empty text stands for the standard's own command. `baud` is the speed of a serial line.
    """

    instrument = models.OneToOneField(
        Instrument, on_delete=models.CASCADE, related_name="connection"
    )
    resource = models.CharField(max_length=200)
    baud = models.PositiveIntegerField(default=9600)
    commands = models.JSONField(default=dict)
    identity = models.CharField(max_length=200, blank=True)
    tested_at = models.DateTimeField(null=True, blank=True)

    def __str__(self) -> str:
        return f"{self.instrument} at {self.resource}"

    @property
    def at_browser(self) -> bool:
        """Whether the browser asks it, on a serial line of its own machine."""
        return self.resource == "BROWSER"

    @property
    def tested(self) -> bool:
        """Whether it has answered who it is, at this address."""
        return bool(self.identity)


class Request(models.Model):
    """Something that an instrument is asked for: the worker asks, the page looks again.

    `value` and `latest` in the unit without a prefix. `said`: why there is no value, or what a
    test brought. One is asked at a time of one instrument.
    """

    FIND, TEST, READ = "find", "test", "read"
    WAITING, RUNNING, DONE, FAILED = "waiting", "running", "done", "failed"

    what = models.CharField(max_length=8)
    instrument = models.ForeignKey(
        Instrument, on_delete=models.CASCADE, null=True, blank=True, related_name="+"
    )
    measures = models.CharField(max_length=30, blank=True)
    # What it is for, in words of whoever asked: an answer belongs nowhere else.
    subject = models.CharField(max_length=250, blank=True)
    state = models.CharField(max_length=8, default=WAITING)
    asked_at = models.DateTimeField()
    until = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.CASCADE, related_name="+")
    latest = models.FloatField(null=True, blank=True)
    value = models.FloatField(null=True, blank=True)
    said = models.TextField(blank=True)
    found = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["instrument"],
                condition=Q(state__in=["waiting", "running"]),
                name="request_one_at_a_time",
            ),
        ]
        indexes = [
            models.Index(
                fields=["asked_at"], condition=Q(state="waiting"), name="request_that_waits"
            )
        ]

    def __str__(self) -> str:
        return f"{self.what} {self.measures} of {self.instrument_id or 'all'}: {self.state}"

    @property
    def open(self) -> bool:
        """Whether an answer is still to come."""
        return self.state in (self.WAITING, self.RUNNING)
