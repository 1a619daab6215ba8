"""Marks on a picture: an arrow, a ring or words, drawn beside the original and taken back again."""

from __future__ import annotations

import hashlib
import json
import subprocess
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext

from shop.accounts import roles
from shop.lib import own_process, text
from shop.lib.refusals import BadInput, bad, refuse
from shop.lib.typed_numbers import number
from shop.photos.models import MarkedImage, Photo, PhotoImage, PhotoMark

# It is run and never imported: the shop needs no library for pictures in its memory.
MARKER = Path(__file__).with_name("marker.py")
MOST_OF_ONE = 30
TIMEOUT_SECONDS = 30
_OWN_FONTS = ("DejaVuSans.ttf",)


def add_mark(
    photo: Photo, shape: str, points: dict[str, str], words: str, *, by: User, at: datetime
) -> PhotoMark:
    """Draw a mark; points `x1`, `y1`, `x2`, `y2` are percent of width and height from the left top.

    BadInput for what is no place or no shape; Refused for one mark too many.
    """
    roles.require(by, "note")
    if shape not in dict(PhotoMark.SHAPES):
        raise bad(
            "shape",
            gettext("shape is {shape!r}; choose an arrow, a ring or words.").format(
                shape=shape[:40]
            ),
        )
    kept = text.take("words", " ".join(words.split()), 80, needed=shape == PhotoMark.WORDS)
    names = ("x1", "y1") if shape == PhotoMark.WORDS else ("x1", "y1", "x2", "y2")
    place = {name: _thousandths(name, points.get(name, "")) for name in names}
    start = {"x2": place["x1"], "y2": place["y1"]} | place
    if shape != PhotoMark.WORDS and (start["x1"], start["y1"]) == (start["x2"], start["y2"]):
        raise bad("x2", gettext("The mark ends where it starts; choose another end."))
    with transaction.atomic():
        locked = Photo.objects.select_for_update().get(pk=photo.pk)
        if locked.marks.filter(taken_back_at=None).count() >= MOST_OF_ONE:
            raise refuse(
                "many",
                gettext("The picture has {most_of_one} marks; that is all it takes.").format(
                    most_of_one=MOST_OF_ONE
                ),
            )
        mark = PhotoMark.objects.create(
            photo=locked, shape=shape, words=kept, by=by, at=at, **start
        )
    try:
        _draw(photo.pk)
    except BadInput:
        mark.delete()
        raise
    return mark


def _thousandths(name: str, typed: str) -> int:
    try:
        value = number(typed, unit="%")
    except ValueError:
        value = -1.0
    if not 0 <= value <= 100:
        raise bad(
            name,
            gettext("{name} is {typed!r}; it must be a number from 0 to 100.").format(
                name=name, typed=typed[:20]
            ),
        )
    return round(value * 10)


def take_back(mark: PhotoMark, *, by: User, at: datetime) -> None:
    """Take a mark off the picture; what it was stays on record."""
    roles.require(by, "note")
    PhotoMark.objects.filter(pk=mark.pk, taken_back_at=None).update(taken_back_at=at)
    _draw(mark.photo_id)


def _draw(photo: int) -> None:
    """Make the marked picture anew; without marks there is none.

    Drawing takes time and holds no lock: who marks the picture meanwhile has it drawn again.
    """
    while True:
        marks = list(PhotoMark.objects.filter(photo=photo, taken_back_at=None))
        image = PhotoImage.objects.filter(photo=photo).first()
        made = _marked(bytes(image.whole), marks) if marks and image else None
        if _kept(photo, marks, made):
            return


@transaction.atomic
def _kept(photo: int, marks: list[PhotoMark], made: tuple[bytes, bytes, list[int]] | None) -> bool:
    """Keep what was drawn; False when it is no longer what the marks say."""
    row = Photo.objects.select_for_update().get(pk=photo)
    if list(row.marks.filter(taken_back_at=None)) != marks:
        return False
    MarkedImage.objects.filter(image__photo=row).delete()
    row.marked_sha256, row.marked_words = "", ""
    if made and row.removed_at is None:
        whole, small, numbered = made
        MarkedImage.objects.create(image_id=row.pk, whole=whole, small=small)
        row.marked_sha256 = hashlib.sha256(whole).hexdigest()
        row.marked_words = "; ".join(_words(marks, numbered))
    row.save(update_fields=["marked_sha256", "marked_words"])
    return True


def _words(marks: list[PhotoMark], numbered: list[int]) -> list[str]:
    """Return the words of the marks, those that no font could write after their number."""
    return [
        f"{place}: {mark.words}" if place in numbered else mark.words
        for place, mark in enumerate(marks, start=1)
        if mark.words
    ]


def _marked(whole: bytes, marks: list[PhotoMark]) -> tuple[bytes, bytes, list[int]]:
    asked = {"marks": [mark.to_draw() for mark in marks], "fonts": _fonts()}
    try:
        process = own_process.run(str(MARKER), [json.dumps(asked)], whole, seconds=TIMEOUT_SECONDS)
    except subprocess.TimeoutExpired:
        raise bad(
            "photo", gettext("The picture takes too long to draw; the mark is not kept.")
        ) from None
    if process.returncode:
        raise bad("photo", gettext("The picture cannot be drawn on; the mark is not kept."))
    line, _, images = process.stdout.partition(b"\n")
    header = json.loads(line)
    return images[: header["whole"]], images[header["whole"] :], header["numbered"]


def _fonts() -> list[str]:
    """Return the fonts of the papers, the shop's own after ours."""
    folder = Path(settings.ROOT, "shop", "documents", "fonts")
    further = Path(settings.FONTS) if settings.FONTS else None
    own = sorted(further.rglob("*.[to]t[fc]")) if further and further.is_dir() else []
    return [str(folder / name) for name in _OWN_FONTS] + [str(file) for file in own]
