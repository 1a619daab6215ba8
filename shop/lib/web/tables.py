"""What columns of tables say to `tables/table.html` and the style sheets."""

from __future__ import annotations

from typing import Any

# Numbers stand at the right, digit under digit.
FIGURE: dict[str, Any] = {"figure": True}
# The link of this column covers the whole row.
WHOLE_ROW: dict[str, Any] = {"a": {"class": "whole-row"}}
