"""Forms of parts, suppliers and stock. They convert; `stock` and `orders` decide."""

from __future__ import annotations

import re
from decimal import Decimal
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from shop.lib import typed_numbers
from shop.lib.phrases import said
from shop.lib.text import quoted
from shop.parts.models import Offer, Part, PriceBreak, Supplier
from shop.preferences import current as preferences


class PartForm(forms.ModelForm):
    """What a part must be."""

    class Meta:
        model = Part
        fields = ("spec", "number", "note")
        labels = {
            "spec": _("What it must be"),
            "number": _("Maker's number, if it matters"),
            "note": _("Note"),
        }
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}


class SupplierForm(forms.ModelForm):
    """A supplier's terms."""

    class Meta:
        model = Supplier
        fields = ("name", "postage", "free_above", "minimum", "usual_days", "note")
        labels = {
            "name": _("Name"),
            "note": _("Note"),
            "postage": _("Postage of an order"),
            "free_above": _("Free from an order of"),
            "minimum": _("Smallest order"),
            "usual_days": _("Usual days until it is here"),
        }
        widgets = {"note": forms.Textarea(attrs={"rows": 2})}


# The price has as many places as its column: a longer one would be kept as something else.
_BREAK = re.compile(r"^\s*(\d{1,6})\s*[:=x]\s*(\d[\d., ]{0,14})\s*$", re.ASCII)


class SupplierChoice(forms.Form):
    """A supplier out of the list, or the name of a new one."""

    supplier = forms.ModelChoiceField(
        Supplier.objects.all(), label=_("Supplier"), empty_label=_("choose"), required=False
    )
    new_supplier = forms.CharField(label=_("Or a new supplier"), max_length=120, required=False)

    def clean(self) -> dict[str, Any]:
        """Ask for a supplier, chosen or named; one that is known by the name is taken."""
        given = super().clean() or {}
        if not given.get("supplier") and not given.get("new_supplier") and not self.errors:
            self.add_error(
                "supplier", gettext("Choose a supplier, or write the name of a new one.")
            )
        return given


def supplier_from(data: dict[str, Any]) -> Supplier:
    """Return the supplier of a `SupplierChoice`, added when it is new."""
    chosen: Supplier | None = data["supplier"]
    return chosen or Supplier.objects.get_or_create(name=data["new_supplier"])[0]


class OfferForm(SupplierChoice):
    """A supplier's prices for a part, one break a line: `1: 2.40`, `10: 1.95`."""

    code = forms.CharField(label=_("Their number"), max_length=120, required=False)
    days = forms.IntegerField(
        label=_("Days, if not their usual"), min_value=0, max_value=999, required=False
    )
    breaks = forms.CharField(
        label=_("Price of one, from a quantity on"),
        widget=forms.Textarea(attrs={"rows": 3, "placeholder": "1: 2.40\n10: 1.95"}),
    )

    def clean_breaks(self) -> dict[int, Decimal]:
        price_by_quantity: dict[int, Decimal] = {}
        for line in self.cleaned_data["breaks"].splitlines():
            if line.strip():
                quantity, price = _break(line)
                price_by_quantity[quantity] = price
        if 0 in price_by_quantity or not price_by_quantity:
            raise ValidationError(
                gettext("Write at least one line like '1: 2.40', from 1 piece on.")
            )
        return price_by_quantity

    def save(self, part: Part) -> Offer:
        """Write the offer, its former prices replaced, and the supplier when it is new."""
        data = self.cleaned_data
        offer, _ = Offer.objects.update_or_create(
            part=part,
            supplier=supplier_from(data),
            defaults={"code": data["code"], "days": data["days"]},
        )
        offer.breaks.all().delete()
        PriceBreak.objects.bulk_create(
            PriceBreak(offer=offer, quantity=quantity, price=price)
            for quantity, price in sorted(data["breaks"].items())
        )
        return offer


def _break(line: str) -> tuple[int, Decimal]:
    match = _BREAK.match(line)
    if match is None:
        raise ValidationError(
            gettext("{line} is no price; write quantity and price like '10: 1.95'.").format(
                line=quoted(line.strip())
            )
        )
    try:
        price = typed_numbers.exact(match[2], decimal=preferences.value("decimal_sign"))
    except typed_numbers.TypedWrong as wrong:
        raise ValidationError(said(wrong)) from None
    return int(match[1]), price


class StockForm(forms.Form):
    """Pieces put in, counted or taken out."""

    act = forms.ChoiceField(
        label=_("What happened"),
        choices=(
            ("bought", _("put in")),
            ("counted", _("counted: so many lie there")),
            ("scrapped", _("taken out: scrapped or used up")),
        ),
    )
    quantity = forms.IntegerField(label=_("Pieces"), min_value=0, max_value=1_000_000)
    bin = forms.CharField(
        label=_("Bin"), max_length=60, widget=forms.TextInput(attrs={"list": "bins"})
    )
    note = forms.CharField(label=_("Note"), max_length=400, required=False)
