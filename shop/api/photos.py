"""Photos of a job."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest
from ninja import Router, Schema, Status
from pydantic import Field

from shop.api import schemas
from shop.api.app import on_job
from shop.api.once import Replay, once
from shop.jobs.queries import Traveller
from shop.photos import processing
from shop.photos import services as photos
from shop.photos.models import Photo

router = Router(tags=["photos"])


class PhotoOut(Schema):
    """A picture; its bytes are at `address`, those with its marks at `marked` (empty for none)."""

    number: int = Field(validation_alias="pk")
    subject: str
    caption: str
    before: int | None = Field(validation_alias="before_id")
    width: int
    height: int
    sha256: str
    taken_at: datetime
    address: str
    marked: str

    @staticmethod
    def resolve_address(photo: Photo) -> str:
        """Return where the bytes are."""
        return f"/photos/{photo.pk}/whole.jpg"

    @staticmethod
    def resolve_marked(photo: Photo) -> str:
        """Return where the bytes with the marks are."""
        return f"/photos/{photo.pk}/{photo.whole_shown}.jpg" if photo.marked_sha256 else ""


@router.get("jobs/{int:number}/photos/", response={200: list[PhotoOut], 404: schemas.Reason})
def photo_list(request: HttpRequest, number: int) -> list[Photo]:
    """List the pictures of a job, oldest first."""
    by, job, _ = on_job(request, number)
    return photos.photos_visible_to(by, job)


# The bytes of one picture, as they are.
_BODY = {
    "requestBody": {
        "required": True,
        "content": {
            kind: {"schema": {"type": "string", "format": "binary"}}
            for kind in ("image/jpeg", "image/png", "image/heic", "application/octet-stream")
        },
    }
}
_NAME = "The picture"


def _photo_again(replay: Replay) -> Photo:
    """Return the picture, which is not changed by being sent again; refused once it was removed."""
    photo = Photo.objects.filter(pk=replay.kept, removed_at=None).first()
    if photo is None:
        raise replay.overtaken("The picture was removed since.")
    return photo


@router.post(
    "jobs/{int:number}/photos/",
    response={201: PhotoOut, **schemas.REFUSALS},
    openapi_extra=_BODY,
)
# Decoding takes seconds: nothing is locked meanwhile.
@once(kept=lambda photo: photo.pk, again=_photo_again, at_once=lambda given: True)
def photo_add(
    request: HttpRequest, number: int, of: str = "unit", caption: str = "", before: str = ""
) -> Status[Photo]:
    """Keep a picture, whose bytes are the body. `of` is unit, parcel, finding-ROW or step-KEY.

    `before` is the number of the picture before the work that this one answers.
    """
    by, job, now = on_job(request, number, "note")
    # What it shows comes first: it is cheap to judge, a picture is not.
    subject = photos.photo_subject(Traveller.of(job), of, caption, before)
    if len(request.body) > processing.LARGEST_FILE:
        raise processing.too_large(_NAME)
    made = processing.decode_photo(_NAME, request.body)
    return Status(201, photos.add_photo(job.number, made, subject, by=by, at=now))
