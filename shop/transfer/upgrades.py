"""What becomes of the tables of an older bundle: labels and columns that came, went or were renamed.

What a ledger row says (`body`, and the word of its kind) is hashed and never touched.
"""

from __future__ import annotations

from typing import Any

Tables = dict[str, list[dict[str, Any]]]

# The version that a bundle has today. Raised whenever a table or a column changes.
VERSION = 3
# By version: the label of a table before it, and since.
RENAMED_TABLES = {
    3: {
        "parts.promise": "parts.reservation",
        "parts.claim": "parts.allocation",
    },
}


def upgrade(tables: Tables, version: int) -> Tables:
    """Return the tables of a bundle of this version as those of today."""
    if version < 2:
        for row in tables.get("jobs.ledgerrow", ()):
            row.pop("handled_at", None)
    for changed_in, renamed in RENAMED_TABLES.items():
        if version < changed_in:
            tables = {renamed.get(label, label): rows for label, rows in tables.items()}
    return tables
