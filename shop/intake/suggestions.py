"""Makes and models of units that were here before, the most frequent first."""

from __future__ import annotations

from django.db.models import Count

from shop.jobs.models import Unit

MOST = 200


def makes() -> list[str]:
    """Return the makes."""
    return _frequent("make")


def models_of(make: str) -> list[str]:
    """Return the models of a make, or of every make when none is named."""
    return _frequent("model", **({"make__iexact": make.strip()} if make.strip() else {}))


def _frequent(column: str, **only: str) -> list[str]:
    named = Unit.objects.filter(**only).exclude(**{column: ""})
    counted = named.values(column).annotate(times=Count("pk")).order_by("-times", column)
    return list(counted.values_list(column, flat=True)[:MOST])
