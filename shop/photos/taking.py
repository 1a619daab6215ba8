"""Pictures that came with a form: each that is good is kept, each other one is named."""

from __future__ import annotations

from dataclasses import dataclass, field

from django.http import HttpRequest
from django.utils import timezone

from shop.lib import uploads
from shop.lib.people import signed_in
from shop.lib.refusals import BadInput, Refused
from shop.photos import developing, keeping
from shop.photos.keeping import About


@dataclass
class Taken:
    """How many were kept, and a sentence for each that was not."""

    kept: int = 0
    refused: list[str] = field(default_factory=list)


def take(request: HttpRequest, number: int, of: About) -> Taken:
    """Keep the pictures of a form, in its files under `photo`, for a job."""
    done = Taken(refused=[str(developing.too_large(name)) for name in uploads.dropped(request)])
    for file in request.FILES.getlist("photo"):
        name = file.name or "The file"
        try:
            if (file.size or 0) > developing.LARGEST_FILE:
                raise developing.too_large(name)
            made = developing.develop(name, file.read())
            keeping.add(number, made, of, by=signed_in(request), at=timezone.now())
            done.kept += 1
        except (BadInput, Refused) as error:
            done.refused.append(str(error))
    return done
