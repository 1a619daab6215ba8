"""Marks on a picture: an arrow, a ring or words beside the original, and taken off again."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Literal

from django.db.models import QuerySet
from django.http import Http404, HttpRequest
from django.utils import timezone
from ninja import Router, Status
from pydantic import Field

from shop.api import schemas
from shop.api.app import person
from shop.api.once import Replay, once
from shop.photos import marks as services
from shop.photos.models import Photo, PhotoMark

router = Router(tags=["photos"])
Percent = Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)]


class MarkIn(schemas.Strict):
    """A mark. Places are percent of width and height from the left top.

    An arrow points to the second place, a ring lies between both, words begin at the first.
    """

    shape: Literal["arrow", "ring", "words"]
    x1: Percent
    y1: Percent
    x2: Percent | None = None
    y2: Percent | None = None
    words: str = ""


class MarkOut(schemas.Schema):
    """A mark that is on a picture, in the same places."""

    id: int
    shape: Literal["arrow", "ring", "words"]
    x1: float
    y1: float
    x2: float
    y2: float
    words: str
    at: datetime

    @staticmethod
    def of(mark: PhotoMark) -> MarkOut:
        """Return a mark as it goes out: thousandths as percent."""
        places = {name: getattr(mark, name) / 10 for name in ("x1", "y1", "x2", "y2")}
        told = {"id": mark.pk, "shape": mark.shape, "words": mark.words, "at": mark.at}
        return MarkOut.model_validate(told | places)


def _photo(key: int) -> Photo:
    found = Photo.objects.filter(pk=key, removed_at=None).first() if key < 2**63 else None
    if found is None:
        raise Http404(f"There is no picture {key}.")
    return found


def _standing(photo: Photo) -> QuerySet[PhotoMark]:
    return photo.marks.filter(taken_back_at=None)


def _again(replay: Replay) -> MarkOut:
    found = PhotoMark.objects.filter(pk=replay.kept, taken_back_at=None).first()
    if found is None:
        raise replay.overtaken("The mark was taken off since.")
    return MarkOut.of(found)


@router.get("photos/{int:key}/marks/", response={200: list[MarkOut], **schemas.REFUSALS})
def marks(request: HttpRequest, key: int) -> list[MarkOut]:
    """List the marks on a picture, oldest first."""
    person(request, "note")
    return [MarkOut.of(mark) for mark in _standing(_photo(key))]


@router.post("photos/{int:key}/marks/", response={201: MarkOut, **schemas.REFUSALS})
# Drawing takes a while: nothing is locked meanwhile.
@once(kept=lambda mark: mark.id, again=_again, at_once=lambda given: True)
def add(request: HttpRequest, key: int, payload: MarkIn) -> Status[MarkOut]:
    """Draw a mark; the original stays, and the picture has the marks at `marked` besides."""
    by, photo = person(request, "note"), _photo(key)
    places = {name: getattr(payload, name) for name in ("x1", "y1", "x2", "y2")}
    # Typed places have one decimal, which reads in one way everywhere.
    typed = {name: f"{value:.1f}" for name, value in places.items() if value is not None}
    mark = services.add_mark(photo, payload.shape, typed, payload.words, by=by, at=timezone.now())
    return Status(201, MarkOut.of(mark))


@router.delete("photos/{int:key}/marks/{int:mark}/", response={204: None, **schemas.REFUSALS})
def take_off(request: HttpRequest, key: int, mark: int) -> Status[None]:
    """Take a mark off the picture again."""
    by, photo = person(request, "note"), _photo(key)
    found = _standing(photo).filter(pk=mark).first() if mark < 2**63 else None
    if found is None:
        raise Http404(f"There is no mark {mark} on picture {key}.")
    services.take_back(found, by=by, at=timezone.now())
    return Status(204, None)
