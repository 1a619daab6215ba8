"""Forms of the backlog."""

from __future__ import annotations

from collections.abc import Mapping

from django import forms
from django.conf import settings

from shop.jobs.events.part_lost import REASONS, SENT_BACK
from shop.jobs.models import JobPart
from shop.lib.refusals import bad
from shop.parts.models import Order, Part, Supplier


class BasketForm(forms.Form):
    """Which needs to order, and what a day of waiting is worth."""

    per_day = forms.DecimalField(
        label="A day that a unit waits is worth",
        min_value=0,
        max_value=1000,
        decimal_places=2,
        max_digits=6,
    )

    def __init__(self, *args: object, needs: list[JobPart], **kwargs: object) -> None:
        super().__init__(*args, **kwargs)  # type: ignore[arg-type]
        self.fields["per_day"].label = f"A day that a unit waits is worth ({settings.CURRENCY})"
        self.fields["needs"] = forms.MultipleChoiceField(
            choices=[(str(need.pk), need.spec) for need in needs], required=False
        )


class OneOrderForm(forms.Form):
    """One part from one supplier, without a basket: what is bought over a counter or a telephone."""

    supplier = forms.ModelChoiceField(Supplier.objects.all(), empty_label="choose")
    price = forms.DecimalField(
        label="Price of one", min_value=0, max_digits=12, decimal_places=4, initial=0
    )
    quantity = forms.IntegerField(label="Pieces", min_value=1, max_value=9999)
    reference = forms.CharField(label="Their order number", max_length=120, required=False)
    expected_on = forms.DateField(
        label="Expected on", required=False, widget=forms.DateInput(attrs={"type": "date"})
    )


class WhichPartForm(forms.Form):
    """Which part of the list a need is; a new one is made from the need's own words."""

    part = forms.ModelChoiceField(Part.objects.all(), required=False, empty_label="a new part")


class ParcelForm(forms.Form):
    """What became of a parcel."""

    act = forms.ChoiceField(
        choices=[
            ("arrived", "arrived"),
            *((why, why) for why in REASONS if why != SENT_BACK),
        ]
    )
    bin = forms.CharField(max_length=60, required=False)


def counts_from(order: Order, posted: Mapping[str, str]) -> dict[int, int]:
    """Return the pieces typed for each line; BadInput names what is no number."""
    counts: dict[int, int] = {}
    for line in order.lines.all():
        typed = posted.get(line.field, "").strip()
        if not typed:
            continue
        if not typed.isascii() or not typed.isdigit() or len(typed) > 6:
            raise bad(line.field, f"{line.part}: {typed!r} is no number of pieces.")
        counts[line.pk] = int(typed)
    return counts
