"""What becomes of the tables of an older bundle: labels that were renamed and columns that went.

What a ledger row says (`body`, and the word of its kind) is hashed and never touched.
"""

from __future__ import annotations

from typing import Any

Tables = dict[str, list[dict[str, Any]]]

# The version that a bundle has today. Raised whenever a release changes a table or a column.
VERSION = 2
# By version: the label of a table before it, and since.
RENAMED_TABLES = {
    2: {
        "parts.promise": "parts.reservation",
        "parts.claim": "parts.allocation",
        "desk.owner": "desk.customer",
        "link.ownerlink": "link.customerlink",
        "photos.picture": "photos.photoimage",
        "estimates.line": "estimates.estimateline",
        "post.wording": "post.messagetemplate",
        "watch.letter": "watch.staffemail",
        "watch.mailwish": "watch.emailpreference",
    },
}
# Columns that went. What is renamed in Python keeps its column, and so its name in a bundle.
DROPPED_COLUMNS = {2: (("jobs.ledgerrow", "handled_at"),)}


def upgrade(tables: Tables, version: int) -> Tables:
    """Return the tables of a bundle of this version as those of today."""
    for later in range(version + 1, VERSION + 1):
        tables = _upgraded(tables, later)
    return tables


def _upgraded(tables: Tables, to: int) -> Tables:
    renamed = RENAMED_TABLES.get(to, {})
    tables = {renamed.get(label, label): rows for label, rows in tables.items()}
    for label, column in DROPPED_COLUMNS.get(to, ()):
        for row in tables.get(label, ()):
            row.pop(column, None)
    return tables
