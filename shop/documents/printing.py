"""Print the papers of a job: contents and pictures, set as PDF."""

from __future__ import annotations

import base64
import io
from collections.abc import Callable
from typing import Any

import segno
from django.conf import settings
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from shop.customers.links import keys
from shop.documents import commercial_documents, contents, typesetting
from shop.jobs import charts, soaking
from shop.jobs.queries import Traveller
from shop.lib.refusals import bad
from shop.photos import services as photos
from shop.photos.models import Photo

PAPERS: dict[str, Callable[[Traveller], dict[str, Any]]] = {
    "traveller": contents.traveller,
    "release": contents.release,
    "handback": contents.handback,
    "estimate": commercial_documents.estimate,
    "figures": commercial_documents.figures,
    "packing": commercial_documents.packing,
}
# Whose sheet has another name than the paper.
_SHEETS = {"estimate": "bill", "figures": "bill"}
TITLES = {
    "label": "Label",
    "traveller": "Traveller",
    "release": "Release record",
    "handback": "Hand-back note",
    "estimate": "Estimate",
    "figures": "Invoice figures",
    "packing": "Packing list",
}


def print_paper(name: str, sheet: Traveller, size: str) -> bytes:
    """Return the PDF of one paper of a job.

    `size` is one of setting.SIZES, or of setting.LABELS for the label. BadInput for another size
    and for text that no font can set; Refused where the job is not so far.
    """
    if name == "label":
        return _label(sheet, size)
    data = PAPERS[name](sheet) | {"paper": _one_of(size, typesetting.SIZES)}
    pictures = {"qr.svg": _code(_customers_address(sheet, name))}
    if name == "release":
        data["charts"], drawn = _soak(sheet)
        data["pairs"], taken = _pairs(sheet)
        pictures |= drawn | taken
    at = sheet.record.rows[-1].at
    return typesetting.set_paper(_SHEETS.get(name, name), data, at=at, pictures=pictures)


def _label(sheet: Traveller, size: str) -> bytes:
    wide, high = typesetting.LABELS[_one_of(size, typesetting.LABELS)]
    data = contents.common(sheet, "Label") | {"wide": wide, "high": high}
    pictures = {"qr.svg": _code(address(sheet))}
    return typesetting.set_paper("label", data, at=sheet.job.received_at, pictures=pictures)


def _one_of(size: str, known: dict[str, Any]) -> str:
    if size not in known:
        raise bad("size", f"size is {size[:40]!r}; it must be one of {', '.join(known)}.")
    return size


def address(sheet: Traveller) -> str:
    """Return what the code on the label holds: the address of the job's page."""
    return settings.ADDRESS + reverse("job", args=[sheet.job.number])


def _customers_address(sheet: Traveller, name: str) -> str:
    """Return the customer's page for a paper that goes to the customer alone, while there is one."""
    live = keys.live_link(sheet.job, now=timezone.now()) if name == "estimate" else None
    return keys.address(live) if live else address(sheet)


def _code(held: str) -> str:
    out = io.BytesIO()
    segno.make(held, error="m", micro=False).save(out, kind="svg", border=2)
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


def _pairs(sheet: Traveller) -> tuple[list[dict[str, str]], dict[str, str]]:
    """Return the pictures before and after the work that the customer may see, side by side."""
    afters = [one for one in photos.of_job(sheet.job) if one.before and one.shown]
    pairs, files = [], {}
    for after in afters:
        if after.before is None or after.before.removed_at or not after.before.shown:
            continue
        names = {"before": f"photo{after.before_id}.svg", "after": f"photo{after.pk}.svg"}
        files[names["before"]], files[names["after"]] = _drawn(after.before), _drawn(after)
        pairs.append(names | {"caption": after.caption})
    return pairs, files


def _drawn(photo: Photo) -> str:
    """Return a picture wrapped in a drawing: files in memory are text to the typesetter."""
    small = base64.b64encode(bytes(photo.picture.small)).decode()
    size = f'width="{photo.width}" height="{photo.height}"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}>'
        f'<image {size} href="data:image/jpeg;base64,{small}"/></svg>'
    )
