"""Pictures that are taken while a unit comes in."""

from __future__ import annotations

from django.http import HttpRequest

from shop.desk.models import Intake
from shop.jobs.models import Job
from shop.photos import taking
from shop.photos.keeping import About
from shop.photos.models import Photo


def take_pictures(request: HttpRequest, job: Job) -> list[str]:
    """Keep the pictures that came with the form; returns a sentence for each that is not kept.

    The unit is in whatever becomes of its pictures. What came by parcel is pictured as a parcel.
    """
    arrival = Intake.objects.filter(job=job).first()
    parcel = arrival is not None and arrival.came_by == Intake.PARCEL
    about = About(Photo.PARCEL if parcel else Photo.UNIT)
    return taking.take(request, job.number, about).refused
