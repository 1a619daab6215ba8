"""Forms of the backlog."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal

from django import forms
from django.http import QueryDict
from django.utils.functional import cached_property
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from shop.jobs.events.part_lost import REASONS, SENT_BACK
from shop.jobs.models import JobPart
from shop.lib.refusals import bad
from shop.lib.text import quoted, whole
from shop.lib.web.number_fields import TypedDecimalField
from shop.parts.forms import SupplierChoice
from shop.parts.models import Order, Part
from shop.planning.basket_proposals import MOST_NEEDS
from shop.preferences import current as preferences


class BasketForm(forms.Form):
    """Which needs to order, and what a day of waiting is worth."""

    per_day = TypedDecimalField(
        label=_("What a day of waiting costs"),
        min_value=0,
        max_value=1000,
        decimal_places=2,
        max_digits=6,
    )

    def __init__(self, sent: QueryDict, *, needs: list[JobPart]) -> None:
        super().__init__(sent if "per_day" in sent else None)
        self.listed = needs
        self.fields["per_day"].initial = preferences.value("waiting_costs")
        self.fields["per_day"].label = gettext("What a day of waiting costs ({currency})").format(
            currency=preferences.value("currency")
        )
        self.fields["needs"] = forms.MultipleChoiceField(
            choices=[(str(need.pk), need.spec) for need in needs], required=False
        )

    @cached_property
    def chosen(self) -> list[JobPart]:
        """The needs that are ticked; as many as one basket takes before anything was."""
        if not self.is_bound:
            return self.listed[:MOST_NEEDS]
        ticked = {str(key) for key in self["needs"].value() or ()}
        return [need for need in self.listed if str(need.pk) in ticked]

    @property
    def price_per_day(self) -> Decimal:
        """What a day of waiting is worth: as typed, once that is found good, or the shop's own."""
        return (
            self.cleaned_data["per_day"]
            if self.is_bound
            else Decimal(preferences.value("waiting_costs"))
        )


class OneOrderForm(SupplierChoice):
    """One part from one supplier, without a basket: what is bought over a counter or a telephone."""

    price = TypedDecimalField(label=_("Price of one"), min_value=0, max_digits=12, decimal_places=4)
    quantity = forms.IntegerField(label=_("Pieces"), min_value=1, max_value=9999)
    reference = forms.CharField(label=_("Their order number"), max_length=120, required=False)
    expected_on = forms.DateField(
        label=_("Expected on"), required=False, widget=forms.DateInput(attrs={"type": "date"})
    )


class WhichPartForm(forms.Form):
    """Which part of the list a need is; a new one is made from the need's own words."""

    part = forms.ModelChoiceField(
        Part.objects.all(), label=_("Part"), required=False, empty_label=_("a new part")
    )


class ParcelForm(forms.Form):
    """What became of a parcel."""

    act = forms.ChoiceField(
        label=_("Act"),
        choices=[
            ("arrived", _("arrived")),
            *((why, why) for why in REASONS if why != SENT_BACK),
        ],
    )
    bin = forms.CharField(label=_("Bin"), max_length=60, required=False)


MOST_PIECES = 999_999


def counts_from(order: Order, posted: Mapping[str, str]) -> dict[int, int]:
    """Return the pieces typed for each line; BadInput names what is no number."""
    counts: dict[int, int] = {}
    for line in order.lines.all():
        typed = posted.get(line.field, "").strip()
        if not typed:
            continue
        pieces = whole(typed)
        if pieces is None or pieces > MOST_PIECES:
            raise bad(
                line.field,
                gettext("{part}: {typed} is no number of pieces.").format(
                    part=line.part, typed=quoted(typed)
                ),
            )
        counts[line.pk] = pieces
    return counts


def parcels_from(typed: QueryDict) -> dict[int, int]:
    """Return, by order, how many pieces were to come where it was ticked: `ORDER-PIECES`; BadInput."""
    seen = {}
    for ticked in typed.getlist("parcel"):
        order, pieces = (whole(part) for part in ticked.partition("-")[::2])
        if order is None or pieces is None:
            raise bad(
                "parcel",
                gettext("parcel is {ticked}; it must be an order of this page.").format(
                    ticked=quoted(ticked)
                ),
            )
        seen[order] = pieces
    return seen
