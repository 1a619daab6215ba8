"""What the shop knows of a model from the units it had."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import Count, Max, Q, QuerySet, Sum

from checklists import published
from shop.jobs.models import Job, JobCause, JobPart, Unit
from shop.lib.pack_words import pack_text
from shop.lib.text import spaced
from shop.model_sheets.models import ModelSheet

MOST = 200
MOST_USUAL = 8
# Without words to look for, only so many of the latest jobs are asked for their models.
LATEST_JOBS = 500


@dataclass(frozen=True)
class KnownModel:
    """A make and model that was here or has a sheet; `figures` are those of its sheet."""

    make: str
    model: str
    units: int
    sheet: int | None
    figures: int


def known_models(typed: str = "") -> list[KnownModel]:
    """Return the models that have all words typed, or those of late, by make and model."""
    sheets = {
        (one.make, one.model): one
        for one in _having(ModelSheet.objects.annotate(count=Count("figures")), typed)[:MOST]
    }
    units = _having(Unit.objects.exclude(make="").exclude(model=""), typed)
    if not typed:
        latest = Job.objects.order_by("-number").values("unit")[:LATEST_JOBS]
        units = units.filter(pk__in=list(latest.values_list("unit", flat=True)))
    seen = units.order_by().values("make", "model").annotate(count=Count("pk"))[:MOST]
    counts = {(row["make"], row["model"]): row["count"] for row in seen}
    return [
        KnownModel(
            make,
            model,
            counts.get((make, model), 0),
            sheets[make, model].pk if (make, model) in sheets else None,
            sheets[make, model].count if (make, model) in sheets else 0,
        )
        for make, model in sorted(sheets.keys() | counts.keys())[:MOST]
    ]


def _having(rows: QuerySet[Any], typed: str) -> QuerySet[Any]:
    for word in typed.split():
        rows = rows.filter(Q(make__icontains=word) | Q(model__icontains=word))
    return rows


def counted(make: str, model: str) -> dict[str, int]:
    """Return how many units and jobs of a model were here, and how many jobs are open or came back."""
    jobs = Job.objects.filter(unit__make=make, unit__model=model)
    return jobs.aggregate(
        units=Count("unit", distinct=True),
        jobs=Count("pk"),
        open=Count("pk", filter=Q(closed_at=None)),
        back=Count("pk", filter=Q(returned_from__isnull=False)),
    )


def usual_causes(make: str, model: str) -> list[tuple[str, int]]:
    """Return (cause, jobs) that confirmed it, most often first."""
    of_model = JobCause.objects.filter(job__unit__make=make, job__unit__model=model)
    rows = of_model.order_by().values("suspect").annotate(times=Count("pk"))
    titles = {suspect.key: pack_text(suspect.title) for suspect in published.current().suspects}
    return [
        (titles.get(row["suspect"]) or spaced(row["suspect"]), row["times"])
        for row in rows.order_by("-times", "suspect")[:MOST_USUAL]
    ]


def usual_parts(make: str, model: str) -> list[dict[str, Any]]:
    """Return the parts that were fitted: spec, jobs, pieces in all, most often first."""
    of_model = JobPart.objects.filter(job__unit__make=make, job__unit__model=model, fitted=True)
    rows = of_model.order_by().values("spec")
    counted_rows = rows.annotate(
        times=Count("job", distinct=True), pieces=Sum("quantity"), part=Max("part")
    )
    return [dict(row) for row in counted_rows.order_by("-times", "spec")[:MOST_USUAL]]
