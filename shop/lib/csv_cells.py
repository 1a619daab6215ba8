"""Cells of a table for a spreadsheet."""

from __future__ import annotations

import json

# A spreadsheet takes a cell that begins so for a formula, and runs it: OWASP, CSV injection.
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n")


def safe_cell(value: object) -> object:
    """Return a value as a cell that no spreadsheet takes for a formula."""
    if isinstance(value, dict | list):
        value = json.dumps(value, ensure_ascii=False)
    if isinstance(value, str) and value.startswith(_FORMULA):
        return "'" + value
    return value
