"""The form of a draft: words, and lines to fill, change and strike out."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from checklists.engine.vocabulary import WORK
from shop.estimates.models import Estimate, EstimateLine
from shop.estimates.services import LONGEST_WORDS, MOST_LINES
from shop.jobs.events.forms import choices as choices_of
from shop.lib.web.number_fields import TypedDecimalField
from shop.preferences import current as preferences

EMPTY_LINES = 2
_COLUMNS = ("sort", "words", "quantity", "price", "tax_rate", "need", "work")


class WordsForm(forms.Form):
    """What the customer reads above the lines."""

    words = forms.CharField(
        label=_("To the customer, in plain words: what is wrong, what would be done, what if not"),
        required=False,
        max_length=LONGEST_WORDS,
        widget=forms.Textarea(attrs={"rows": 4}),
    )


class PricedLineForm(forms.Form):
    """One line that comes to a sum; a line without words is left out."""

    sort = forms.ChoiceField(label=_("Kind"), choices=EstimateLine.SORTS)
    words = forms.CharField(label=_("What for"), max_length=500, required=False)
    quantity = TypedDecimalField(
        label=_("How many"), min_value=0, max_digits=9, decimal_places=3, initial=1, localize=False
    )
    price = TypedDecimalField(
        label=_("Price of one"), min_value=0, max_digits=12, decimal_places=4, initial=0
    )
    tax_rate = TypedDecimalField(
        label=_("Tax, %"), min_value=0, max_value=100, max_digits=5, decimal_places=2
    )
    need = forms.IntegerField(required=False, min_value=1, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["tax_rate"].initial = preferences.value("tax_rate")

    def has_changed(self) -> bool:
        return bool(self["words"].data)


class LineForm(PricedLineForm):
    """One line of an estimate, and the kind of work that a yes covers."""

    work = forms.ChoiceField(
        label=_("Covers this work"),
        required=False,
        choices=[("", _("no one kind")), *choices_of(WORK)],
    )


LinesFormSet = forms.formset_factory(
    LineForm, extra=EMPTY_LINES, can_delete=True, max_num=MOST_LINES, validate_max=True
)


def lines_formset(estimate: Estimate, sent: Any = None) -> Any:
    """Return the formset of a draft, filled from what is stored or from what was sent."""
    return filled_lines(LinesFormSet, estimate.lines.all(), _COLUMNS, sent)


def filled_lines(formsets: Any, lines: Iterable[Any], names: Iterable[str], sent: Any) -> Any:
    """Return a formset of lines, filled with these columns of what is stored, or with what was sent."""
    stored = [{name: getattr(line, name) for name in names} for line in lines]
    for line in stored:
        line["quantity"], line["price"] = (_short(line[name]) for name in ("quantity", "price"))
    formset = formsets(sent, initial=stored, prefix="line")
    for form in formset.forms:
        form.fields["DELETE"].label = gettext("Strike out")
    return formset


def _short(number: Any) -> str:
    """Return '0.5' for 0.500, and '100' for 100.0000."""
    return f"{number.normalize():f}"


def lines_from_formset(formset: Any) -> list[dict[str, Any]]:
    """Return the lines that stay, in order."""
    filled = [form.cleaned_data for form in formset.forms if form.cleaned_data.get("words")]
    remaining = [line for line in filled if not line.get("DELETE")]
    return [{name: line[name] for name in _COLUMNS} for line in remaining]
