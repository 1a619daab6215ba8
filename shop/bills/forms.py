"""Forms of bills: the draft with its lines, payments, and why nothing is billed."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from shop.bills.models import Bill, BillLine, Payment
from shop.bills.services import LINE, LONGEST_REASON, LONGEST_WORDS, MOST_DAYS, MOST_LINES
from shop.customers.forms import country_field
from shop.estimates.forms import PricedLineForm, filled_lines
from shop.lib.web.number_fields import TypedDecimalField

EMPTY_LINES = 1
_SENTENCES = ("words", "differs_because")
_BUYER = (
    *("buyer_name", "buyer_address", "buyer_post_code", "buyer_city", "buyer_country"),
    "buyer_tax_number",
)
_UNTAXED = ("untaxed_as", "untaxed_because")


class DraftForm(forms.Form):
    """What stands on a bill beside its lines."""

    buyer_name = forms.CharField(label=_("Name"), required=False, max_length=200)
    buyer_address = forms.CharField(
        label=_("Street"),
        required=False,
        max_length=1000,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    buyer_post_code = forms.CharField(label=_("Post code"), required=False, max_length=20)
    buyer_city = forms.CharField(label=_("Town"), required=False, max_length=100)
    buyer_country = country_field()
    buyer_tax_number = forms.CharField(
        label=_("Tax number of the buyer"), required=False, max_length=40
    )
    delivered_on = forms.DateField(
        label=_("Day of the work"), widget=forms.DateInput(attrs={"type": "date"})
    )
    terms_days = forms.IntegerField(label=_("Days to pay"), min_value=0, max_value=MOST_DAYS)
    untaxed_as = forms.ChoiceField(
        label=_("Lines at 0 % are"),
        required=False,
        choices=[("", _("as the settings say")), *Bill.UNTAXED],
    )
    untaxed_because = forms.CharField(
        label=_("Why no tax is charged, in other words than usual"), required=False, max_length=500
    )
    words = forms.CharField(
        label=_("To the customer"),
        required=False,
        max_length=LONGEST_WORDS,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    differs_because = forms.CharField(
        label=_("Why it is not the sum that was agreed to"),
        required=False,
        max_length=LONGEST_REASON,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args: Any, credit: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if credit:
            self.fields["words"].label = gettext("Why it is credited")
            for name in ("terms_days", "differs_because"):
                self.fields[name].required = False
                self.fields[name].widget = forms.HiddenInput()

    @property
    def short_fields(self) -> list[forms.BoundField]:
        """The fields that stand side by side."""
        apart = (*_SENTENCES, *_BUYER, *_UNTAXED)
        return [field for field in self.visible_fields() if field.name not in apart]

    @property
    def folded(self) -> list[tuple[str, list[forms.BoundField], bool]]:
        """What few bills need, by what it is called; open where something stands in it."""
        parts = (
            (gettext("Billed to somebody else"), _BUYER),
            (gettext("Lines without tax"), _UNTAXED),
        )
        found = [(title, [self[name] for name in names]) for title, names in parts]
        return [
            (title, fields, any(f.value() or f.errors for f in fields)) for title, fields in found
        ]

    @property
    def long_fields(self) -> list[forms.BoundField]:
        """The fields for sentences."""
        return [field for field in self.visible_fields() if field.name in _SENTENCES]


class LineForm(PricedLineForm):
    """One line of a bill: more kinds than an estimate has, and the work goes with it unseen."""

    sort = forms.ChoiceField(label=_("Kind"), choices=BillLine.SORTS)
    work = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)


LinesFormSet = forms.formset_factory(
    LineForm, extra=EMPTY_LINES, can_delete=True, max_num=MOST_LINES, validate_max=True
)


class PaymentForm(forms.Form):
    """Money that came; below zero what went back."""

    amount = TypedDecimalField(label=_("Amount"), max_digits=14, decimal_places=3)
    paid_on = forms.DateField(label=_("Day"), widget=forms.DateInput(attrs={"type": "date"}))
    way = forms.ChoiceField(label=_("How"), choices=Payment.WAYS)
    note = forms.CharField(label=_("Note"), required=False, max_length=200)


def draft_form(bill: Bill, sent: Any = None) -> DraftForm:
    """Return the form of a draft, filled from what is stored or from what was sent."""
    stored = {name: getattr(bill, name) for name in DraftForm.base_fields}
    return DraftForm(sent, initial=stored, credit=bill.is_credit)


def lines_formset(bill: Bill, sent: Any = None) -> Any:
    """Return the formset of a draft, filled in the same way."""
    return filled_lines(LinesFormSet, bill.lines.all(), LINE, sent)


def lines_from_formset(formset: Any) -> list[dict[str, Any]]:
    """Return the lines that stay, in order."""
    filled = [form.cleaned_data for form in formset.forms if form.cleaned_data.get("words")]
    return [{name: line[name] for name in LINE} for line in filled if not line.get("DELETE")]
