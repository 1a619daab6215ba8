"""Print the papers of a job: contents and pictures, set as PDF."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

import segno
from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse

from shop.jobs import charts, soaking
from shop.jobs.queries import Traveller
from shop.lib.refusals import bad
from shop.papers import contents, setting

PAPERS: dict[str, Callable[[Traveller], dict[str, Any]]] = {
    "traveller": contents.traveller,
    "release": contents.release,
    "handback": contents.handback,
}
TITLES = {
    "label": "Label",
    "traveller": "Traveller",
    "release": "Release record",
    "handback": "Hand-back note",
}


def print_paper(name: str, sheet: Traveller, size: str) -> bytes:
    """Return the PDF of one paper of a job.

    `size` is one of setting.SIZES, or of setting.LABELS for the label. BadInput for another size
    and for text that no font can set; Refused where the job is not so far.
    """
    if name == "label":
        return _label(sheet, size)
    data = PAPERS[name](sheet) | {"paper": _one_of(size, setting.SIZES)}
    pictures = {"qr.svg": _code(sheet)}
    if name == "release":
        data["charts"], drawn = _soak(sheet)
        pictures |= drawn
    return setting.set_paper(name, data, at=sheet.record.rows[-1].at, pictures=pictures)


def _label(sheet: Traveller, size: str) -> bytes:
    wide, high = setting.LABELS[_one_of(size, setting.LABELS)]
    data = contents.common(sheet, "Label") | {"wide": wide, "high": high}
    pictures = {"qr.svg": _code(sheet)}
    return setting.set_paper("label", data, at=sheet.job.received_at, pictures=pictures)


def _one_of(size: str, known: dict[str, Any]) -> str:
    if size not in known:
        raise bad("size", f"size is {size[:40]!r}; it must be one of {', '.join(known)}.")
    return size


def address(sheet: Traveller) -> str:
    """Return what the code on the label holds: the address of the job's page."""
    return settings.ADDRESS + reverse("traveller", args=[sheet.job.number])


def _code(sheet: Traveller) -> str:
    out = io.BytesIO()
    segno.make(address(sheet), error="m", micro=False).save(out, kind="svg", border=2)
    return out.getvalue().decode()


def _soak(sheet: Traveller) -> tuple[list[dict[str, str]], dict[str, str]]:
    run = soaking.soak_of(sheet.record, sheet.checklist)
    drawn = charts.soak_charts(run, sheet.record.rows[-1].at) if run else []
    files: dict[str, str] = {
        f"soak{place}.svg": render_to_string("jobs/_soak_drawing.html", {"one": one})
        for place, one in enumerate(drawn)
    }
    told = [
        {"file": file, "title": f"{one.quantity} ({one.unit}) over the hours"}
        for file, one in zip(files, drawn, strict=True)
    ]
    return told, files
