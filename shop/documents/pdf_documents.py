"""The documents of a job as PDF: their content and pictures, typeset."""

from __future__ import annotations

import base64
import io
from collections.abc import Callable
from contextlib import AbstractContextManager
from typing import Any

import segno
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shop.customers.languages import in_language_of_job
from shop.customers.links import keys
from shop.documents import commercial_documents, common, technical_documents, typesetting
from shop.documents.receipt import receipt
from shop.jobs import charts, head_signatures, soaking
from shop.jobs.queries import Traveller
from shop.lib import languages
from shop.lib.refusals import bad
from shop.photos import services as photos
from shop.photos.models import Photo
from shop.preferences import current as preferences

CONTENT_OF: dict[str, Callable[[Traveller], dict[str, Any]]] = {
    "receipt": receipt,
    "traveller": technical_documents.traveller_document,
    "release": technical_documents.release_record,
    "handback": technical_documents.handback_note,
    "estimate": commercial_documents.estimate_document,
    "packing": commercial_documents.packing_list,
}
TITLES: dict[str, Promise] = {
    "label": gettext_lazy("Label"),
    "receipt": gettext_lazy("Receipt"),
    "traveller": gettext_lazy("Traveller"),
    "release": gettext_lazy("Release record"),
    "handback": gettext_lazy("Hand-back note"),
    "estimate": gettext_lazy("Estimate"),
    "packing": gettext_lazy("Packing list"),
}
# What stays in the shop, in its language.
_OF_SHOP = ("label", "traveller")


def render_pdf(name: str, traveller: Traveller, size: str) -> bytes:
    """Return the PDF of one document of a job.

    `size` is one of typesetting.SIZES, or of typesetting.LABELS for the label. BadInput for another size
    and for text that no font can set; Refused where the job is not so far.
    """
    at = traveller.job.received_at if name == "label" else traveller.record.rows[-1].at
    with _language(name, traveller):
        template, data, pictures = _content(name, traveller, size)
        return typesetting.compile_pdf(template, data, at=at, pictures=pictures)


def render_preview(name: str, traveller: Traveller, size: str) -> bytes:
    """Return the first page of the same document as PNG; refused as `render_pdf` is."""
    with _language(name, traveller):
        template, data, pictures = _content(name, traveller, size)
        return typesetting.compile_preview(template, data, pictures=pictures)


def _language(name: str, traveller: Traveller) -> AbstractContextManager[None]:
    """Return the block in the language of whoever the paper is for."""
    if name in _OF_SHOP:
        return languages.of_shop()
    return in_language_of_job(traveller.job)


def _content(
    name: str, traveller: Traveller, size: str
) -> tuple[str, dict[str, Any], dict[str, str]]:
    """Return template, data and pictures of a document."""
    if name == "label":
        return _label(traveller, size)
    data = CONTENT_OF[name](traveller) | {"paper": _known_size(size, typesetting.SIZES)}
    code = _address_for(traveller, name)
    data["by_link"] = code != address(traveller)
    pictures = {"qr.svg": _qr_code(code)} | common.logo_file()
    if name == "release":
        data["charts"], chart_files = _soak_charts(traveller)
        data["pairs"], photo_files = _photo_pairs(traveller)
        data["signed_head"] = _signed_head(traveller)
        if data["signed_head"]:
            pictures["head.svg"] = _qr_code("\n".join(data["signed_head"]))
        pictures |= chart_files | photo_files
    return name, data, pictures


def _label(traveller: Traveller, size: str) -> tuple[str, dict[str, Any], dict[str, str]]:
    wide, high = typesetting.LABELS[_known_size(size, typesetting.LABELS)]
    data = common.common_fields(traveller, _("Label")) | {"wide": wide, "high": high}
    return "label", data, {"qr.svg": _qr_code(address(traveller))}


def _known_size(size: str, known: dict[str, Any]) -> str:
    if size not in known:
        with languages.of_shop():
            said = _("size is {size!r}; it must be one of {these}.")
        raise bad("size", said.format(size=size[:40], these=", ".join(known)))
    return size


def address(traveller: Traveller) -> str:
    """Return what the code on the label holds: the address of the job's page."""
    return preferences.value("address") + reverse("job", args=[traveller.job.number])


def _address_for(traveller: Traveller, name: str) -> str:
    """Return the customer's page for a paper that goes to the customer alone, while there is one."""
    customers = name in ("estimate", "receipt")
    link = keys.live_link(traveller.job, now=timezone.now()) if customers else None
    return keys.address(link) if link else address(traveller)


def _qr_code(content: str) -> str:
    svg = io.BytesIO()
    segno.make(content, error="m", micro=False).save(svg, kind="svg", border=2)
    return svg.getvalue().decode()


def _signed_head(traveller: Traveller) -> list[str]:
    """Return what was signed at the release, by which key, and the signature; nothing when unsigned."""
    signature = head_signatures.of_job(traveller.job.number)
    if signature is None:
        return []
    return [signature.message, f"key {signature.key.fingerprint}", signature.signature]


def _soak_charts(traveller: Traveller) -> tuple[list[dict[str, str]], dict[str, str]]:
    run = soaking.soak_of(traveller.record, traveller.checklist)
    soak_charts = charts.soak_charts(run, traveller.record.rows[-1].at) if run else []
    files: dict[str, str] = {
        f"soak{number}.svg": render_to_string("jobs/_soak_drawing.html", {"one": chart})
        for number, chart in enumerate(soak_charts)
    }
    captions = [
        {
            "file": file,
            "title": _("{quantity} ({unit}) over the hours").format(
                quantity=chart.quantity.capitalize(), unit=chart.unit
            ),
        }
        for file, chart in zip(files, soak_charts, strict=True)
    ]
    return captions, files


def _photo_pairs(traveller: Traveller) -> tuple[list[dict[str, str]], dict[str, str]]:
    """Return the pictures before and after the work that the customer may see, side by side."""
    afters = [
        photo
        for photo in photos.photos_of_job(traveller.job)
        if photo.before and photo.visible_to_customer
    ]
    pairs, files = [], {}
    for after in afters:
        if after.before is None or after.before.removed_at or not after.before.visible_to_customer:
            continue
        names = {"before": f"photo{after.before_id}.svg", "after": f"photo{after.pk}.svg"}
        files[names["before"]], files[names["after"]] = _photo_svg(after.before), _photo_svg(after)
        words = {
            "before_words": _("before: {caption}").format(caption=after.caption),
            "after_words": _("after: {caption}").format(caption=after.caption),
        }
        pairs.append(names | words | {"caption": after.caption})
    return pairs, files


def _photo_svg(photo: Photo) -> str:
    """Return a picture wrapped in a drawing: files in memory are text to the typesetter."""
    image = photo.image.marked if photo.marked_sha256 else photo.image
    small = base64.b64encode(bytes(image.small)).decode()
    size = f'width="{photo.width}" height="{photo.height}"'
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" {size}>'
        f'<image {size} href="data:image/jpeg;base64,{small}"/></svg>'
    )
