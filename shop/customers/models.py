"""Customers, kept apart from the bench: jobs and their ledgers hold no person.

Tables and columns keep the names under which they were made.
"""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext, pgettext_lazy
from django.utils.translation import gettext_lazy as _

from shop.jobs.models import Job
from shop.lib.addresses import Address
from shop.preferences import current as preferences
from shop.preferences import languages


class Customer(models.Model):
    """Somebody whose unit is here; `erased_at` is when everything personal was taken away."""

    EMAIL, TELEPHONE, LETTER = "email", "telephone", "letter"
    WAYS = ((EMAIL, _("e-mail")), (TELEPHONE, _("telephone")), (LETTER, _("letter")))

    name = models.CharField(max_length=200, blank=True)
    email = models.CharField(max_length=254, blank=True)
    phone = models.CharField(max_length=60, blank=True)
    # Street, and what else stands above the town; whole addresses were written into it before.
    address = models.TextField(blank=True)
    post_code = models.CharField(max_length=20, blank=True)
    city = models.CharField(max_length=100, blank=True)
    # By ISO 3166; empty is that of the shop.
    country = models.CharField(max_length=2, blank=True)
    contact_by = models.CharField(max_length=10, choices=WAYS, blank=True)
    # What they read: messages, papers, their page; empty is the language of the shop's customers.
    language = models.CharField(max_length=5, choices=languages.CHOICES, blank=True)
    # When the customer said that e-mails about the unit are welcome; nothing is sent without it.
    agreed_to_mail_at = models.DateTimeField(null=True, blank=True)
    erased_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        db_table = "desk_owner"
        indexes = [
            models.Index(fields=["email"], name="owner_email"),
            models.Index(fields=["name"], name="owner_name"),
        ]

    def __str__(self) -> str:
        if self.erased_at:
            return gettext("Customer {number}, erased").format(number=self.pk)
        return (
            self.name
            or self.email
            or self.phone
            or gettext("Customer {number}").format(number=self.pk)
        )

    @property
    def postal(self) -> Address:
        """The address in parts."""
        return Address(
            street=self.address, post_code=self.post_code, city=self.city, country=self.country
        )

    @property
    def postal_lines(self) -> list[str]:
        """The address line by line, as it stands on a letter."""
        return self.postal.lines(seen_from=preferences.value("country"))


class Intake(models.Model):
    """Links a job to its customer, and says how it came."""

    COUNTER, PARCEL, FETCHED = "counter", "parcel", "fetched"
    CAME_BY = (
        (COUNTER, _("over the counter")),
        (PARCEL, _("by parcel")),
        (FETCHED, _("fetched by us")),
    )
    SOUND, DAMP, CRUSHED, OPENED = "sound", "damp", "crushed", "opened"
    PARCELS = (
        (SOUND, pgettext_lazy("parcel", "sound")),
        (DAMP, _("damp")),
        (CRUSHED, _("crushed or dented")),
        (OPENED, _("opened or taped again")),
    )

    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="intake")
    customer = models.ForeignKey(
        Customer,
        on_delete=models.PROTECT,
        null=True,
        blank=True,
        related_name="intakes",
        db_column="owner_id",
    )
    came_by = models.CharField(max_length=8, choices=CAME_BY, blank=True)
    parcel = models.CharField(max_length=8, choices=PARCELS, blank=True)
    # One thing a line: what came with the unit and goes back with it.
    accessories = models.TextField(blank=True)

    def __str__(self) -> str:
        return f"{self.customer or 'Nobody named'} for job {self.job_id}"

    @property
    def things(self) -> list[str]:
        """What came along, thing by thing."""
        return [line.strip() for line in self.accessories.splitlines() if line.strip()]
