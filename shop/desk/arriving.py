"""Pictures that are taken while a unit comes in."""

from __future__ import annotations

from django.http import HttpRequest
from django.utils import timezone

from shop.desk.models import Intake
from shop.jobs.models import Job
from shop.lib import uploads
from shop.lib.people import signed_in
from shop.lib.refusals import BadInput, Refused
from shop.photos import developing, keeping
from shop.photos.keeping import About
from shop.photos.models import Photo


def take_pictures(request: HttpRequest, job: Job) -> list[str]:
    """Keep the pictures that came with the form; returns a sentence for each that is not kept.

    The unit is in whatever becomes of its pictures. What came by parcel is pictured as a parcel.
    """
    arrival = Intake.objects.filter(job=job).first()
    parcel = arrival is not None and arrival.came_by == Intake.PARCEL
    about = About(Photo.PARCEL if parcel else Photo.UNIT)
    refused = [str(developing.too_large(name)) for name in uploads.dropped(request)]
    for file in request.FILES.getlist("photo"):
        try:
            made = developing.develop(file.name or "The file", file.read())
            keeping.add(job.number, made, about, by=signed_in(request), at=timezone.now())
        except (BadInput, Refused) as error:
            refused.append(str(error))
    return refused
