"""Photos of a job."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest
from ninja import Router, Schema
from pydantic import Field

from shop.api import schemas
from shop.api.app import on_job
from shop.photos import services as photos
from shop.photos.models import Photo

router = Router(tags=["photos"])


class PhotoOut(Schema):
    """A picture; its bytes are at `address`."""

    number: int = Field(validation_alias="pk")
    subject: str
    caption: str
    before: int | None = Field(validation_alias="before_id")
    width: int
    height: int
    sha256: str
    taken_at: datetime
    address: str

    @staticmethod
    def resolve_address(photo: Photo) -> str:
        """Return where the bytes are."""
        return f"/photos/{photo.pk}/whole.jpg"


@router.get("jobs/{int:number}/photos/", response={200: list[PhotoOut], 404: schemas.Reason})
def photo_list(request: HttpRequest, number: int) -> list[Photo]:
    """List the pictures of a job, oldest first."""
    by, job, _ = on_job(request, number)
    return photos.photos_visible_to(by, job)
