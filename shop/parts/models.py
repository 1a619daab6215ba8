"""Parts, where they are bought, where they lie, and who was reserved which.

Nothing here knows jobs: a need is named by two numbers, that of its job and that of its
ledger row. Tables, columns, constraints and indexes keep the names under which they were made.
"""

from __future__ import annotations

from decimal import Decimal

from django.contrib.auth.models import User
from django.db import models
from django.db.models import F, Q
from django.urls import reverse
from django.utils.translation import gettext as _


class Part(models.Model):
    """A kind of part, described by what it must be; the maker's number is only one way to get it."""

    spec = models.CharField(max_length=500, unique=True)
    number = models.CharField(max_length=120, blank=True)
    note = models.TextField(blank=True)
    # What substitution compares: the class of part, and its values by their names there.
    part_class = models.CharField(max_length=40, blank=True)
    figures = models.JSONField(default=dict, blank=True)

    class Meta:
        ordering = ["spec"]
        indexes = [models.Index(fields=["part_class"], name="part_class")]

    def __str__(self) -> str:
        return self.spec


class Supplier(models.Model):
    """Who sells parts, and on which terms. Money in the shop's currency."""

    name = models.CharField(max_length=120, unique=True)
    postage = models.DecimalField(max_digits=10, decimal_places=2, default=Decimal(0))
    free_above = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)
    minimum = models.DecimalField(max_digits=10, decimal_places=2, default=Decimal(0))
    usual_days = models.PositiveSmallIntegerField(default=5)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.CheckConstraint(
                condition=Q(postage__gte=0, minimum__gte=0), name="supplier_money_not_negative"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class Offer(models.Model):
    """A supplier's offer of a part; `days` is said only when it differs from the usual."""

    supplier = models.ForeignKey(Supplier, on_delete=models.CASCADE, related_name="offers")
    part = models.ForeignKey(Part, on_delete=models.CASCADE, related_name="offers")
    code = models.CharField(max_length=120, blank=True)
    days = models.PositiveSmallIntegerField(null=True, blank=True)

    class Meta:
        ordering = ["supplier__name"]
        constraints = [
            models.UniqueConstraint(fields=["supplier", "part"], name="offer_once_per_supplier"),
        ]

    def __str__(self) -> str:
        return f"{self.part} from {self.supplier}"

    @property
    def delivery_days(self) -> int:
        """Days from order to arrival, as the supplier says."""
        return self.supplier.usual_days if self.days is None else self.days


class PriceBreak(models.Model):
    """The price of one piece from a quantity on."""

    offer = models.ForeignKey(Offer, on_delete=models.CASCADE, related_name="breaks")
    quantity = models.PositiveIntegerField(default=1)
    price = models.DecimalField(max_digits=12, decimal_places=4)

    class Meta:
        ordering = ["quantity"]
        constraints = [
            models.UniqueConstraint(fields=["offer", "quantity"], name="break_once_per_quantity"),
            models.CheckConstraint(condition=Q(quantity__gte=1), name="break_from_one"),
            models.CheckConstraint(condition=Q(price__gte=0), name="break_price_not_negative"),
        ]

    def __str__(self) -> str:
        return f"from {self.quantity}: {self.price}"


class Bin(models.Model):
    """A place where parts are kept."""

    name = models.CharField(max_length=60, unique=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class Stock(models.Model):
    """How many pieces of a part are in a bin, and how many of them are reserved for jobs."""

    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="stock")
    bin = models.ForeignKey(Bin, on_delete=models.PROTECT, related_name="stock")
    on_hand = models.PositiveIntegerField(default=0)
    reserved = models.PositiveIntegerField(default=0, db_column="promised")

    class Meta:
        ordering = ["part", "bin"]
        constraints = [
            models.UniqueConstraint(fields=["part", "bin"], name="stock_once_per_bin"),
            # The database itself refuses negative stock and a piece that is reserved twice.
            models.CheckConstraint(condition=Q(on_hand__gte=0), name="stock_not_negative"),
            models.CheckConstraint(
                condition=Q(reserved__gte=0) & Q(reserved__lte=F("on_hand")),
                name="stock_promised_once",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.part} in {self.bin}"

    @property
    def free(self) -> int:
        """Pieces that are not reserved for a job."""
        return self.on_hand - self.reserved


class Movement(models.Model):
    """One change of a stock, with the balance after it; never updated and never deleted."""

    stock = models.ForeignKey(Stock, on_delete=models.PROTECT, related_name="movements")
    change = models.IntegerField()
    balance = models.PositiveIntegerField()
    why = models.CharField(max_length=20)
    note = models.CharField(max_length=400, blank=True)
    job = models.BigIntegerField(null=True, blank=True)
    need = models.PositiveIntegerField(null=True, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(User, on_delete=models.PROTECT, null=True, related_name="+")

    class Meta:
        ordering = ["-id"]
        constraints = [
            models.CheckConstraint(condition=~Q(change=0), name="movement_moves"),
        ]

    def __str__(self) -> str:
        return f"{self.change:+d} {self.stock}"


class Reservation(models.Model):
    """Pieces in a bin that are reserved for one need of one job."""

    stock = models.ForeignKey(Stock, on_delete=models.PROTECT, related_name="reservations")
    job = models.BigIntegerField()
    need = models.PositiveIntegerField()
    quantity = models.PositiveIntegerField()
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_because = models.CharField(max_length=20, blank=True)

    class Meta:
        db_table = "parts_promise"
        constraints = [
            models.UniqueConstraint(
                fields=["stock", "job", "need"],
                condition=Q(ended_at__isnull=True),
                name="promise_one_live_per_need",
            ),
            models.CheckConstraint(condition=Q(quantity__gte=1), name="promise_of_something"),
        ]
        indexes = [models.Index(fields=["job", "need"], name="promise_of_need")]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.stock} for job {self.job}"


class Order(models.Model):
    """One order at one supplier, which comes as one parcel."""

    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="orders")
    reference = models.CharField(max_length=120, blank=True)
    placed_at = models.DateTimeField()
    placed_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    expected_on = models.DateField()
    first_arrival_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        indexes = [
            models.Index(
                fields=["expected_on"], name="order_open", condition=Q(closed_at__isnull=True)
            ),
            models.Index(fields=["supplier", "-placed_at"], name="order_of_supplier"),
        ]

    def __str__(self) -> str:
        words = _("Order {number} from {supplier}")
        return words.format(number=self.pk, supplier=self.supplier)

    def get_absolute_url(self) -> str:
        """Return the address of the page on which the parcel is unpacked."""
        return reverse("parcel", args=[self.pk])


class OrderLine(models.Model):
    """So many of one part on an order; each piece is still to come, has come, or is given up."""

    order = models.ForeignKey(Order, on_delete=models.PROTECT, related_name="lines")
    part = models.ForeignKey(Part, on_delete=models.PROTECT, related_name="order_lines")
    quantity = models.PositiveIntegerField()
    price = models.DecimalField(max_digits=12, decimal_places=4, default=Decimal(0))
    arrived = models.PositiveIntegerField(default=0)
    given_up = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(condition=Q(quantity__gte=1), name="line_of_something"),
            models.CheckConstraint(
                condition=Q(quantity__gte=F("arrived") + F("given_up")),
                name="line_adds_up",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.part}"

    @property
    def field(self) -> str:
        """The name of its field on the page of the parcel."""
        return f"line-{self.pk}"

    @property
    def to_come(self) -> int:
        """Pieces not seen yet."""
        return self.quantity - self.arrived - self.given_up


class Allocation(models.Model):
    """Pieces of an order line that one need of one job is waiting for."""

    line = models.ForeignKey(OrderLine, on_delete=models.PROTECT, related_name="allocations")
    job = models.BigIntegerField()
    need = models.PositiveIntegerField()
    quantity = models.PositiveIntegerField()
    arrived = models.PositiveIntegerField(default=0)
    dropped_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        db_table = "parts_claim"
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["job", "need"],
                condition=Q(dropped_at__isnull=True),
                name="claim_one_live_per_need",
            ),
            models.CheckConstraint(
                condition=Q(arrived__lte=F("quantity"), quantity__gte=1), name="claim_adds_up"
            ),
        ]
        indexes = [models.Index(fields=["job", "need"], name="claim_of_need")]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.line} for job {self.job}"

    @property
    def to_come(self) -> int:
        """Pieces the need still waits for."""
        return 0 if self.dropped_at else self.quantity - self.arrived
