"""A unit that is on its way: no job yet, and nothing of it is in any ledger."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.contrib.auth.models import User
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext as _

from shop.customers.models import Customer
from shop.jobs.models import Job
from shop.preferences import languages


@dataclass(frozen=True)
class Slip:
    """One that is on its way as a list writes it, in plain values."""

    number: int
    title: str
    unit: str
    who: str
    carrier: str
    tracking: str
    expected_on: date | None


class Announcement(models.Model):
    """What somebody said of a unit before it came, and where its parcel is.

    Everything personal goes when the unit is received: it stands with the customer then. One that
    nobody has said anything of the unit in is a question: its link waits for the customer.
    """

    made_at = models.DateTimeField()
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    # Makes the customer's address unguessable; signed, it is what that address holds.
    nonce = models.CharField(max_length=43)
    expires_at = models.DateTimeField()
    # When something was said of the unit first, and when last by the customer.
    said_at = models.DateTimeField(null=True, blank=True)
    by_customer_at = models.DateTimeField(null=True, blank=True)

    make = models.CharField(max_length=120, blank=True)
    model = models.CharField(max_length=120, blank=True)
    serial = models.CharField(max_length=120, blank=True)
    complaint = models.TextField(blank=True)

    name = models.CharField(max_length=200, blank=True)
    email = models.CharField(max_length=254, blank=True)
    phone = models.CharField(max_length=60, blank=True)
    address = models.TextField(blank=True)
    contact_by = models.CharField(max_length=10, choices=Customer.WAYS, blank=True)
    # What they read; empty is not known.
    language = models.CharField(max_length=5, choices=languages.CHOICES, blank=True, default="")
    agreed_to_mail = models.BooleanField(default=False)

    carrier = models.CharField(max_length=200, blank=True)
    tracking = models.CharField(max_length=200, blank=True)
    expected_on = models.DateField(null=True, blank=True)

    # The job that it became.
    job = models.OneToOneField(
        Job, on_delete=models.PROTECT, null=True, blank=True, related_name="announcement"
    )

    class Meta:
        indexes = [
            models.Index(
                fields=["expected_on"], name="announced_open", condition=Q(job__isnull=True)
            ),
        ]

    def __str__(self) -> str:
        return (
            self.unit
            or self.name
            or self.email
            or self.phone
            or _("Announcement {number}").format(number=self.pk)
        )

    def get_absolute_url(self) -> str:
        """Return the address of its page."""
        return reverse("announcement", args=[self.pk])

    @property
    def slip(self) -> Slip:
        """What a list writes of it."""
        values = (self.unit, self.who, self.carrier, self.tracking, self.expected_on)
        return Slip(self.pk, str(self), *values)

    @property
    def unit(self) -> str:
        """Make and model; empty while nobody has said."""
        return " ".join(filter(None, (self.make, self.model)))

    @property
    def who(self) -> str:
        """Whose it is, as far as is known."""
        return self.name or self.email or self.phone
