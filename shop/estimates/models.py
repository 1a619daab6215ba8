"""Estimates: what the customer is asked to agree to, version by version."""

from __future__ import annotations

from decimal import Decimal

from django.contrib.auth.models import User
from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from shop.estimates.pricing import PricedLine, Totals, totals
from shop.jobs.models import Job


class Estimate(models.Model):
    """One version; a draft until it is sent, and never changed after that.

    How it was answered stands in the ledger of the job.
    """

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="estimates")
    version = models.PositiveIntegerField()
    currency = models.CharField(max_length=3)
    tax_name = models.CharField(max_length=20)
    words = models.TextField(blank=True)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    sent_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["job", "-version"]
        constraints = [
            models.UniqueConstraint(fields=["job", "version"], name="estimate_version_once"),
            models.UniqueConstraint(
                fields=["job"], condition=Q(sent_at__isnull=True), name="estimate_one_draft"
            ),
        ]

    def __str__(self) -> str:
        return f"Estimate {self.version} of job {self.job_id}"

    def totals(self) -> Totals:
        """What its lines add up to."""
        return totals([line.priced for line in self.lines.all()], self.currency)


class EstimateLine(models.Model):
    """A line of labour or parts; `need` and `work` say what of the job it covers."""

    LABOUR, PART, OTHER = "labour", "part", "other"
    SORTS = (
        (LABOUR, _("labour, h")),
        (PART, pgettext_lazy("line of a bill", "part")),
        (OTHER, pgettext_lazy("line of a bill", "other")),
    )

    estimate = models.ForeignKey(Estimate, on_delete=models.CASCADE, related_name="lines")
    place = models.PositiveSmallIntegerField()
    sort = models.CharField(max_length=6, choices=SORTS, default=LABOUR)
    words = models.CharField(max_length=500)
    quantity = models.DecimalField(max_digits=9, decimal_places=3, default=Decimal(1))
    price = models.DecimalField(max_digits=12, decimal_places=4, default=Decimal(0))
    tax_rate = models.DecimalField(max_digits=5, decimal_places=2, default=Decimal(0))
    need = models.PositiveIntegerField(null=True, blank=True)
    work = models.CharField(max_length=40, blank=True)

    class Meta:
        db_table = "estimates_line"
        ordering = ["place"]
        constraints = [
            models.CheckConstraint(
                condition=Q(quantity__gte=0, price__gte=0, tax_rate__gte=0),
                name="estimate_line_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return self.words

    @property
    def priced(self) -> PricedLine:
        """The line for the sum."""
        return PricedLine(self.quantity, self.price, self.tax_rate, self.estimate.currency)
