"""Photos that are taken while a unit comes in."""

from __future__ import annotations

from django.http import HttpRequest
from django.utils import timezone

from shop.customers.models import Intake
from shop.intake import picture_drafts
from shop.jobs.models import Job
from shop.photos import form_uploads
from shop.photos.models import Photo
from shop.photos.services import PhotoSubject


def save_photos(request: HttpRequest, job: Job) -> list[str]:
    """Keep the photos that came with the form, now or before a refusal; say which are not kept.

    The unit is in whatever becomes of its pictures. What came by parcel is pictured as a parcel.
    """
    intake = Intake.objects.filter(job=job).first()
    parcel = intake is not None and intake.came_by == Intake.PARCEL
    about = PhotoSubject(Photo.PARCEL if parcel else Photo.UNIT)
    before = picture_drafts.hand_over(request, job.number, about, timezone.now())
    return before + form_uploads.save_uploads(request, job.number, about).refused
