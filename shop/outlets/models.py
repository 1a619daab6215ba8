"""Outlets and meters on the network, what they reported last, who claims one, and who holds enables."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.jobs.models import Job

MQTT, MODBUS = "mqtt", "modbus"
KINDS = {MQTT: "MQTT", MODBUS: "Modbus TCP"}
# What it is for. Enables are held for the last two, and for neither without a permit.
REPORTS, UNDER_TEST, COMMISSIONED = "reports", "under-test", "commissioned"
USES = (REPORTS, UNDER_TEST, COMMISSIONED)


class Outlet(models.Model):
    """An outlet of the bench that reports, and where it was commissioned, is enabled.

    The claim is the job whose plug is in it. A job claims one outlet at a time.
    """

    name = models.CharField(max_length=60, unique=True)
    kind = models.CharField(max_length=10)
    host = models.CharField(max_length=200)
    port = models.PositiveIntegerField()
    # MQTT: what stands before `/state` and `/enable`, who signs in there, and whom it trusts.
    topic = models.CharField(max_length=200, blank=True)
    username = models.CharField(max_length=120, blank=True)
    sealed_password = models.TextField(blank=True)
    tls = models.BooleanField(default=True)
    authority = models.TextField(blank=True)
    # Modbus: the unit, and the first register of the map in docs/outlets.md.
    unit = models.PositiveIntegerField(default=1)
    first_register = models.PositiveIntegerField(default=0)
    # Below this it counts as drawing nothing that the meter can tell.
    least_watts = models.FloatField(default=1.0)
    # Changed by commissioning alone.
    use = models.CharField(max_length=20, default=REPORTS)
    # Changed with whatever a connection is made of.
    edition = models.PositiveIntegerField(default=1)

    claimed_by_job = models.ForeignKey(
        Job, on_delete=models.PROTECT, null=True, blank=True, related_name="outlets"
    )
    claimed_at = models.DateTimeField(null=True, blank=True)
    # Why nothing claims it any more, where that was not asked for: another job did.
    claim_lost = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(condition=Q(kind__in=list(KINDS)), name="outlet_kind_known"),
            models.CheckConstraint(condition=Q(use__in=USES), name="outlet_use_known"),
            models.UniqueConstraint(
                fields=["claimed_by_job"],
                condition=Q(claimed_by_job__isnull=False),
                name="outlet_one_of_a_job",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def is_enabled_by_permits(self) -> bool:
        """Whether enables are held for it while a permit stands."""
        return self.use in (UNDER_TEST, COMMISSIONED)

    def get_absolute_url(self) -> str:
        """Return the address of its page, which its label holds."""
        return reverse("outlet", args=[self.pk])


class Report(models.Model):
    """What an outlet reported last, and what was answered to it; empty is not known."""

    outlet = models.OneToOneField(Outlet, on_delete=models.CASCADE, related_name="report")
    at = models.DateTimeField()
    watts = models.FloatField(null=True)
    volts = models.FloatField(null=True)
    amps = models.FloatField(null=True)
    enabled = models.BooleanField(null=True)
    closed = models.BooleanField(null=True)
    # Why no enable was sent; empty where one was.
    withheld = models.CharField(max_length=300, blank=True)

    def __str__(self) -> str:
        return f"{self.outlet_id} at {self.at:%H:%M:%S}"


class HolderLease(models.Model):
    """The one process that holds enables. It counts up while it lives; no clock stands in it."""

    token = models.CharField(max_length=40, blank=True)
    beat = models.PositiveBigIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.token or 'nobody'} at {self.beat}"


class Commissioning(models.Model):
    """One walk through the test of an outlet: what was seen at each step; never changed."""

    outlet = models.ForeignKey(Outlet, on_delete=models.CASCADE, related_name="commissionings")
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    # The edition of the connection that was tested.
    edition = models.PositiveIntegerField()
    # What was answered to each question, in the order of the walk.
    answers = models.JSONField(default=dict)
    passed = models.BooleanField()

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"{self.outlet_id} {'passed' if self.passed else 'refused'}"
