"""What becomes of the tables of an older bundle: labels that were renamed and columns that went.

What a ledger row says (`body`, and the word of its kind) is hashed and never touched.
"""

from __future__ import annotations

from typing import Any

from shop.jobs import identity

Tables = dict[str, list[dict[str, Any]]]

# The version that a bundle has today. Raised whenever a release changes a table or a column.
VERSION = 10
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
# Columns that came, with what stands in them where nothing else follows from the rows.
ADDED_COLUMNS = {
    3: (("jobs.unit", "identity", ""), ("jobs.job", "joined_into_id", None)),
    7: (("bills.bill", "seller_bic", ""),),
    8: (
        ("photos.photo", "marked_sha256", ""),
        ("photos.photo", "marked_words", ""),
        *(("desk.customer", name, "") for name in ("post_code", "city", "country")),
        *(
            ("bills.bill", name, "")
            for name in (
                *("seller_post_code", "seller_city", "buyer_post_code", "buyer_city"),
                *("buyer_tax_number", "untaxed_as", "untaxed_code", "terms"),
            )
        ),
        ("bills.bill", "warranted_until", None),
    ),
    10: (
        ("desk.customer", "language", ""),
        ("announced.announcement", "language", ""),
        ("post.messagetemplate", "language", "en"),
        ("bills.bill", "language", ""),
    ),
}
_UNITS_SETTLED = 3
# Tables that came; there was nothing in them.
ADDED_TABLES = {
    4: ("preferences.settingchange",),
    5: ("jobs.shopkey", "jobs.headsignature"),
    6: (
        "bills.numberseries",
        "bills.bill",
        "bills.billline",
        "bills.payment",
        "bills.nothingtobill",
    ),
    7: ("instruments.instrument", "instruments.accuracy", "instruments.lastused"),
    8: (
        "instruments.connection",
        "manuals.manual",
        "manuals.manualfile",
        "manuals.manualpage",
        "manuals.pagelink",
        "photos.photomark",
        "photos.markedimage",
        "sound.soundinput",
    ),
    9: ("announced.announcement",),
}


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
    for label, column, value in ADDED_COLUMNS.get(to, ()):
        for row in tables.get(label, ()):
            row.setdefault(column, value)
    for label in ADDED_TABLES.get(to, ()):
        tables.setdefault(label, [])
    if to == _UNITS_SETTLED:
        _settle_units(tables.get("jobs.unit", []), tables.get("jobs.job", []))
    return tables


def _settle_units(units: list[dict[str, Any]], jobs: list[dict[str, Any]]) -> None:
    """Let spellings of one unit be one row, as the migration does (jobs 0014)."""
    found = identity.settled(units, [(job["number"], job["unit_id"]) for job in jobs])
    by_key = {unit["id"]: unit for unit in units}
    new = max(by_key, default=0)
    for job in jobs:
        number = job["number"]
        if number in found.own:
            new += 1
            units.append({**by_key[found.own[number]], "id": new})
            job["unit_id"] = new
        job["unit_id"] = found.moves.get(number, job["unit_id"])
    for key, value in found.identities.items():
        by_key[key]["identity"] = value
