"""What the demo shop knows beside its jobs: a service sheet, the sheet of its model, a unit on its way."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from django.contrib.auth.models import User
from django.utils import timezone

from shop.customers.announced import services as announcing
from shop.documents.typesetting import compile_pdf
from shop.manuals import reading
from shop.manuals import services as manuals
from shop.manuals.models import Manual
from shop.model_sheets import services as model_sheets

_MODEL = ("Halvenholt", "Court 70")
_TITLE = "Court 70 service sheet"
# The date inside the file: the same bytes whenever the demo is written.
_TYPESET = datetime(2020, 1, 1, tzinfo=timezone.get_fixed_timezone(0))
_FIGURES = (
    ("unit.mains_volts", 230, 1),
    ("unit.rail_volts", 46, 1),
    ("unit.reservoir_uf", 12000, 1),
    ("unit.bias_adjustable", True, 2),
    ("Idle current", "11 mV across R221 and R321, 0.22 ohm each, after ten minutes", 2),
    ("Offset", "within 30 mV, no load", 1),
    ("Fuses", "T 1.6 A in the primary, two of T 5 A in the rails", 1),
)


def write(by: User, now: datetime) -> None:
    """Write them; every row through the same door as a person's."""
    _manual(by, now - timedelta(days=8))
    _model_sheet(by, now - timedelta(days=8))
    _announced(by, now - timedelta(days=1))


def _manual(by: User, at: datetime) -> None:
    raw = compile_pdf("manual", {}, at=_TYPESET, templates=Path(__file__).parent)
    read = reading.read_pdf("court-70.pdf", raw)
    owner = manuals.of_model(*_MODEL)
    kept = manuals.add_manual(
        owner, "court-70.pdf", read, kind=Manual.MANUAL, title=_TITLE, by=by, at=at
    )
    manuals.link_page(kept, 2, "step-bias-set-hot", "Idle current", by=by, at=at)


def _model_sheet(by: User, at: datetime) -> None:
    sheet = model_sheets.get_or_create_sheet(*_MODEL, by=by)
    for name, value, page in _FIGURES:
        source = f"{_TITLE}, page {page}"
        model_sheets.save_figure(sheet, name, value, source, by=by, at=at)


def _announced(by: User, at: datetime) -> None:
    said = {
        "make": "Brassow",
        "model": "Loom 12 mixer",
        "serial": "L12-0147",
        "complaint": "No phantom supply on channels 1 to 4.",
        "name": "Ilse Marwick",
        "email": "ilse@example.org",
        "carrier": "North Post",
        "tracking": "NP 31 4402",
        "expected_on": timezone.localdate(at) + timedelta(days=2),
    }
    announcing.announce(said, by=by, at=at)
