"""Pictures that came with a form: each that is good is kept, each other one is named."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

from django.http import HttpRequest
from django.utils import timezone

from shop.accounts.roles import signed_in
from shop.lib.refusals import UserFacingError
from shop.lib.web import uploads
from shop.photos import processing, services
from shop.photos.processing import DecodedPhoto
from shop.photos.services import PhotoSubject


@dataclass
class UploadResult:
    """How many were kept, and a sentence for each that was not."""

    kept: int = 0
    refused: list[str] = field(default_factory=list)


def save_uploads(request: HttpRequest, number: int, subject: PhotoSubject) -> UploadResult:
    """Keep the pictures of a form, in its files under `photo`, for a job."""

    def save(name: str, photo: DecodedPhoto) -> None:
        services.add_photo(number, photo, subject, by=signed_in(request), at=timezone.now())

    return each_upload(request, save)


def each_upload(request: HttpRequest, save: Callable[[str, DecodedPhoto], None]) -> UploadResult:
    """Decode each picture of a form and hand it to `save` with the name of its file."""
    result = UploadResult(
        refused=[str(processing.too_large(name)) for name in uploads.dropped(request)]
    )
    for file in request.FILES.getlist("photo"):
        name = file.name or "The file"
        try:
            if (file.size or 0) > processing.LARGEST_FILE:
                raise processing.too_large(name)
            save(name, processing.decode_photo(name, file.read()))
            result.kept += 1
        except UserFacingError as error:
            result.refused.append(str(error))
    return result
