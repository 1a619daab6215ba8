"""What could stand in for a part, out of the shop's own bins and price lists."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import Min
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_GET, require_http_methods

from shop.accounts.roles import needs, require, signed_in
from shop.bench.electrical.part_judges import PartClass
from shop.bench.electrical.part_specs import PART_CLASSES
from shop.bench.electrical.substitution import Candidate, Ranked, ranked, read_spec
from shop.bench.units import spoken
from shop.lib.calculator_words import calculated
from shop.lib.refusals import UserFacingError, bad
from shop.lib.web.errors import on_error
from shop.parts import queries
from shop.parts.models import Part

MOST = 400


class ValuesForm(forms.Form):
    """The values of one class of part; empty means not known."""

    def __init__(self, part_class: PartClass, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for parameter in part_class.parameters:
            unit = f" ({parameter.unit})" if parameter.unit else ""
            label = f"{calculated(spoken(parameter.name)).capitalize()}{unit}"
            self.fields[parameter.name] = (
                forms.ChoiceField(
                    label=label,
                    required=False,
                    choices=[
                        ("", gettext_lazy("not known")),
                        *((word, word) for word in parameter.words),
                    ],
                )
                if parameter.words
                else forms.CharField(
                    label=label,
                    required=False,
                    max_length=30,
                    widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
                )
            )


def _values_page(
    request: HttpRequest, number: int, *, error: UserFacingError | None = None
) -> HttpResponse:
    part, given = get_object_or_404(Part, pk=number), request.POST or request.GET
    chosen = PART_CLASSES.get(given.get("part_class", part.part_class))
    known = part.figures if chosen and chosen.name == part.part_class else {}
    context = {
        "part": part,
        "classes": PART_CLASSES.values(),
        "chosen": chosen,
        "form": ValuesForm(chosen, request.POST or None, initial=known) if chosen else None,
        "refused": str(error or ""),
    }
    return render(request, "parts/part_values.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@needs("read")
@on_error(_values_page)
def part_values(request: HttpRequest, number: int) -> HttpResponse:
    """The values that substitution compares: choose the class, then fill in what is known."""
    if request.method != "POST":
        return _values_page(request, number)
    require(signed_in(request), "order")
    part = get_object_or_404(Part, pk=number)
    part.part_class = request.POST.get("part_class", "")
    part.figures = _figures(part.part_class, request.POST)
    part.save(update_fields=["part_class", "figures"])
    messages.success(request, _("The values are kept."))
    return redirect("substitutes", part.pk)


def _figures(class_name: str, typed: Mapping[str, str]) -> dict[str, Any]:
    """Return the values typed for a class of part; BadInput says what cannot be read."""
    part_class = PART_CLASSES.get(class_name)
    if part_class is None:
        raise bad(
            "part_class",
            _("part_class is not one of {these}.").format(these=", ".join(PART_CLASSES)),
        )
    values = {named.name: typed.get(named.name, "").strip() for named in part_class.parameters}
    try:
        return read_spec(class_name, values)
    except ValueError as error:
        raise bad("values", str(error)) from None


@require_GET
@needs("read")
def part_substitutes(request: HttpRequest, number: int) -> HttpResponse:
    """Candidates of the same class, ranked, each with every reason."""
    part = get_object_or_404(Part, pk=number)
    return render(request, "parts/substitutes.html", substitutes_of(part))


def substitutes_of(part: Part) -> dict[str, Any]:
    """Return what the page of substitutes shows."""
    context: dict[str, Any] = {"part": part, "ranked": None}
    if part.part_class in PART_CLASSES and part.figures:
        context["ranked"] = candidates_for(part)
        context["caution"] = PART_CLASSES[part.part_class].caution.split(". ", 1)
    return context


def candidates_for(part: Part) -> list[tuple[Part, Ranked]]:
    """Return the other parts of the class, best first; one query. ValueError never: bad specs are left out."""
    others = (
        queries.parts()
        .filter(part_class=part.part_class)
        .exclude(pk=part.pk)
        .annotate(price=Min("offers__breaks__price"))[:MOST]
    )
    by_name = {str(other.pk): other for other in others}
    offered = [
        Candidate(key, other.figures, getattr(other, "stock_free", 0), _price(other.price))
        for key, other in by_name.items()
        if _sound(other)
    ]
    return [
        (by_name[ranking.candidate.name], ranking)
        for ranking in ranked(part.part_class, part.figures, offered)
    ]


def _price(price: Any) -> float | None:
    return None if price is None else float(price)


def _sound(part: Part) -> bool:
    try:
        return bool(read_spec(part.part_class, part.figures))
    except ValueError:
        return False
