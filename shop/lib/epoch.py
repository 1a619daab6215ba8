"""Moments as numbers, worked out by the database: a date for each of many rows costs more than it tells."""

from __future__ import annotations

from typing import Any

from django.db.models import FloatField, Func


class Epoch(Func):
    """Seconds of a moment since 1970, or NULL; to a millisecond."""

    template = "EXTRACT(EPOCH FROM %(expressions)s)"
    output_field = FloatField()

    def as_sqlite(self, compiler: Any, connection: Any, **more: Any) -> Any:
        """Return it in the words of SQLite, which counts days since 4714 BC."""
        template = "((JULIANDAY(%(expressions)s) - 2440587.5) * 86400)"
        return self.as_sql(compiler, connection, template=template, **more)
