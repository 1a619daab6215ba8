"""What columns of tables say to `tables/table.html` and the style sheets."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

import django_tables2 as tables
from django.utils import timezone

from shop.lib import languages

# Numbers stand at the right, digit under digit.
FIGURE: dict[str, Any] = {"figure": True}
# The link of this column covers the whole row.
WHOLE_ROW: dict[str, Any] = {"a": {"class": "whole-row"}}


class MomentColumn(tables.Column):
    """A day or a moment in the order of the language; `pattern` is that of English."""

    def __init__(self, pattern: str, **more: Any) -> None:
        super().__init__(**more)
        self.pattern = pattern

    def render(self, value: date | datetime) -> str:
        """Return it in the time of the shop."""
        at = timezone.localtime(value) if isinstance(value, datetime) else value
        return languages.moment(at, self.pattern)
