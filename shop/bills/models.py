"""Bills and credit notes with their lines, the payments, and how far the numbers of a year are.

A bill is a draft until it is issued. Issuing gives it its number and copies seller and buyer as
text: from then on no part of it changes (`bill_triggers`), whatever becomes of settings and customers.
"""

from __future__ import annotations

from decimal import Decimal

from django.contrib.auth.models import User
from django.db import models
from django.db.models import Q
from django.urls import reverse
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

from shop.estimates.pricing import PricedLine, Totals, totals
from shop.jobs.models import Job
from shop.lib.addresses import Address


class NumberSeries(models.Model):
    """The last number that a year has given out; its row is the lock under which one is taken."""

    year = models.PositiveSmallIntegerField(primary_key=True)
    last = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.year}: {self.last}"


class Bill(models.Model):
    """A bill or a credit note of a job: a draft without a number, or issued and kept as it is."""

    BILL, CREDIT = "bill", "credit"
    SORTS = ((BILL, _("bill")), (CREDIT, _("credit note")))
    ZERO, EXEMPT, REVERSE, EXPORT, OUTSIDE = "zero", "exempt", "reverse", "export", "outside"
    UNION = "union"
    UNTAXED = (
        (ZERO, _("taxed at 0 %")),
        (EXEMPT, _("exempt")),
        (REVERSE, _("reverse charge: the buyer owes the tax")),
        (EXPORT, pgettext_lazy("why an invoice has no tax", "export")),
        (UNION, _("goods to another country of the Union")),
        (OUTSIDE, _("outside the scope of the tax")),
    )

    job = models.ForeignKey(Job, on_delete=models.PROTECT, related_name="bills")
    sort = models.CharField(max_length=6, choices=SORTS, default=BILL)
    # The bill that a credit note takes back, whole or in part.
    corrects = models.ForeignKey(
        "self", on_delete=models.PROTECT, null=True, blank=True, related_name="credits"
    )
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    currency = models.CharField(max_length=3)
    tax_name = models.CharField(max_length=20)
    words = models.TextField(blank=True)
    # Why the sum is another than the one that was agreed to; asked for when it is.
    differs_because = models.CharField(max_length=500, blank=True)
    # When the work was handed over: the day that tax follows.
    delivered_on = models.DateField()
    terms_days = models.PositiveSmallIntegerField(default=14)

    # Set when it is issued, and never again.
    year = models.PositiveSmallIntegerField(null=True, blank=True)
    place = models.PositiveIntegerField(null=True, blank=True)
    issued_on = models.DateField(null=True, blank=True)
    issued_at = models.DateTimeField(null=True, blank=True)
    issued_by = models.ForeignKey(
        User, on_delete=models.PROTECT, null=True, blank=True, related_name="+"
    )
    due_on = models.DateField(null=True, blank=True)
    seller_name = models.CharField(max_length=200, blank=True)
    seller_address = models.TextField(blank=True)
    seller_post_code = models.CharField(max_length=20, blank=True)
    seller_city = models.CharField(max_length=100, blank=True)
    seller_country = models.CharField(max_length=2, blank=True)
    seller_telephone = models.CharField(max_length=60, blank=True)
    seller_email = models.CharField(max_length=254, blank=True)
    seller_tax_number = models.CharField(max_length=40, blank=True)
    seller_iban = models.CharField(max_length=34, blank=True)
    seller_bic = models.CharField(max_length=11, blank=True)
    # Of lines at 0 per cent; on a draft what differs from the settings.
    untaxed_as = models.CharField(max_length=8, choices=UNTAXED, blank=True)
    untaxed_because = models.CharField(max_length=500, blank=True)
    untaxed_code = models.CharField(max_length=30, blank=True)
    terms = models.TextField(blank=True)
    # Of its words; empty is English, as all were before.
    language = models.CharField(max_length=8, blank=True)
    warranted_until = models.DateField(null=True, blank=True)
    # On a draft: whom to bill when it is not the customer of the job.
    buyer_name = models.CharField(max_length=200, blank=True)
    buyer_address = models.TextField(blank=True)
    buyer_post_code = models.CharField(max_length=20, blank=True)
    buyer_city = models.CharField(max_length=100, blank=True)
    buyer_country = models.CharField(max_length=2, blank=True)
    buyer_tax_number = models.CharField(max_length=40, blank=True)
    net = models.DecimalField(max_digits=15, decimal_places=3, null=True, blank=True)
    gross = models.DecimalField(max_digits=15, decimal_places=3, null=True, blank=True)
    # What had been paid before it was issued: the deposit.
    deposit = models.DecimalField(max_digits=15, decimal_places=3, default=Decimal(0))

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["year", "place"], name="bill_number_once"),
            models.UniqueConstraint(
                fields=["job"], condition=Q(place__isnull=True), name="bill_one_draft"
            ),
            models.CheckConstraint(
                condition=Q(place__isnull=True, year__isnull=True, issued_on__isnull=True)
                | Q(
                    place__gte=1,
                    year__isnull=False,
                    issued_on__isnull=False,
                    issued_at__isnull=False,
                    issued_by__isnull=False,
                    due_on__isnull=False,
                    net__isnull=False,
                    gross__isnull=False,
                ),
                name="bill_draft_or_issued",
            ),
            models.CheckConstraint(
                condition=Q(sort="bill", corrects__isnull=True)
                | Q(sort="credit", corrects__isnull=False),
                name="bill_credit_corrects_one",
            ),
        ]
        indexes = [models.Index(fields=["due_on"], name="bill_due")]

    def __str__(self) -> str:
        return f"{self.get_sort_display().capitalize()} {self.number or 'not issued yet'}"

    def get_absolute_url(self) -> str:
        """Return the address of the page of its job, at its place."""
        return f"{reverse('job-bills', args=[self.job_id])}#bill-{self.pk}"

    @property
    def issued(self) -> bool:
        """Whether it has a number."""
        return self.place is not None

    @property
    def number(self) -> str:
        """Its number in the series of its year, '2031-0007'; empty for a draft."""
        return f"{self.year}-{self.place:04}" if self.place is not None else ""

    @property
    def is_credit(self) -> bool:
        """Whether it takes a bill back."""
        return self.sort == self.CREDIT

    @property
    def seller_postal(self) -> Address:
        """The address of the shop, as it was."""
        return Address(
            street=self.seller_address,
            post_code=self.seller_post_code,
            city=self.seller_city,
            country=self.seller_country,
        )

    @property
    def buyer_postal(self) -> Address:
        """The address of whom it is for."""
        return Address(
            street=self.buyer_address,
            post_code=self.buyer_post_code,
            city=self.buyer_city,
            country=self.buyer_country,
        )

    def totals(self) -> Totals:
        """What its lines add up to."""
        return totals([line.priced for line in self.lines.all()], self.currency)


class BillLine(models.Model):
    """A line; `need` and `work` say what of the job it is about."""

    LABOUR, PART, FREIGHT, INSPECTION, OTHER = "labour", "part", "freight", "inspection", "other"
    SORTS = (
        (LABOUR, _("labour, h")),
        (PART, pgettext_lazy("line of a bill", "part")),
        (FREIGHT, _("freight")),
        (INSPECTION, _("inspection fee")),
        (OTHER, pgettext_lazy("line of a bill", "other")),
    )

    bill = models.ForeignKey(Bill, on_delete=models.CASCADE, related_name="lines")
    place = models.PositiveSmallIntegerField()
    sort = models.CharField(max_length=10, choices=SORTS, default=LABOUR)
    words = models.CharField(max_length=500)
    quantity = models.DecimalField(max_digits=9, decimal_places=3, default=Decimal(1))
    price = models.DecimalField(max_digits=12, decimal_places=4, default=Decimal(0))
    tax_rate = models.DecimalField(max_digits=5, decimal_places=2, default=Decimal(0))
    need = models.PositiveIntegerField(null=True, blank=True)
    work = models.CharField(max_length=40, blank=True)

    class Meta:
        ordering = ["place"]
        constraints = [
            models.CheckConstraint(
                condition=Q(quantity__gte=0, price__gte=0, tax_rate__gte=0),
                name="bill_line_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return self.words

    @property
    def priced(self) -> PricedLine:
        """The line for the sum."""
        return PricedLine(self.quantity, self.price, self.tax_rate, self.bill.currency)


class Payment(models.Model):
    """Money that came for a bill, or went back (below zero). Never changed: a wrong one is taken back."""

    CASH, CARD, TRANSFER, OTHER = "cash", "card", "transfer", "other"
    WAYS = (
        (TRANSFER, _("bank transfer")),
        (CASH, _("cash")),
        (CARD, pgettext_lazy("payment", "card")),
        (OTHER, pgettext_lazy("payment", "other")),
    )

    bill = models.ForeignKey(Bill, on_delete=models.PROTECT, related_name="payments")
    amount = models.DecimalField(max_digits=15, decimal_places=3)
    paid_on = models.DateField()
    way = models.CharField(max_length=8, choices=WAYS)
    note = models.CharField(max_length=200, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering = ["paid_on", "pk"]
        constraints = [
            models.CheckConstraint(condition=~Q(amount=0), name="payment_of_something"),
        ]

    def __str__(self) -> str:
        return f"{self.amount} on {self.paid_on}"


class NothingToBill(models.Model):
    """Why a job that has left gets no bill: warranty, goodwill."""

    job = models.OneToOneField(Job, on_delete=models.PROTECT, related_name="nothing_to_bill")
    reason = models.CharField(max_length=200)
    at = models.DateTimeField()
    # Nobody: the shop itself, of units that had left before bills were written here.
    by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, blank=True, related_name="+")

    def __str__(self) -> str:
        return self.reason
