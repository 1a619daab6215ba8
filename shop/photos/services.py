"""Pictures come to a job, are paired, and are taken away again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import QuerySet
from django.utils.translation import gettext

from shop.accounts import roles
from shop.jobs import commands
from shop.jobs.events.finding_recorded import FindingRecorded
from shop.jobs.models import Job
from shop.jobs.queries import Traveller
from shop.lib import text
from shop.lib.refusals import bad, refuse
from shop.photos.models import Photo, PhotoImage, PhotoMark
from shop.photos.processing import DecodedPhoto

if TYPE_CHECKING:
    from shop.accounts.roles import Person

MOST_OF_A_JOB = 500
MOST_OF_A_MODEL = 24


@dataclass(frozen=True)
class PhotoSubject:
    """What a picture shows: `subject` of Photo.SUBJECTS, with the row or step it belongs to.

    `before` is the picture that this one answers, after the work.
    """

    subject: str = Photo.UNIT
    row: int | None = None
    step: str = ""
    caption: str = ""
    before: Photo | None = None


def photo_subject(
    traveller: Traveller, chosen: str, caption: str, before: str = ""
) -> PhotoSubject:
    """Return what a picture shows from what was chosen on the page: 'unit', 'finding-12', 'step-x'.

    BadInput for a finding, step or earlier picture that this job does not have.
    """
    kept_caption = text.take("caption", caption, 300)
    if before:
        return _answer_to(traveller.job, before, kept_caption)
    subject, _, name = chosen.partition("-")
    findings = {str(row.sequence) for row in traveller.record.of_type(FindingRecorded.event_type)}
    if subject == Photo.FINDING and name in findings:
        return PhotoSubject(subject, row=int(name), caption=kept_caption)
    if subject == Photo.STEP and name in traveller.checklist.by_key:
        return PhotoSubject(subject, step=name, caption=kept_caption)
    if subject in (Photo.UNIT, Photo.PARCEL) and not name:
        return PhotoSubject(subject, caption=kept_caption)
    raise bad(
        "of", gettext("of is {chosen!r}; choose what the picture shows.").format(chosen=chosen[:40])
    )


def _answer_to(job: Job, before: str, caption: str) -> PhotoSubject:
    unanswered = Photo.objects.filter(job=job, removed_at=None, before=None, after=None)
    key = text.whole(before)
    earlier = unanswered.filter(pk=key).first() if key is not None else None
    if earlier is None:
        raise bad(
            "before", gettext("The picture from before is not there, or has its answer already.")
        )
    return PhotoSubject(
        earlier.subject, earlier.row, earlier.step, caption or earlier.caption, earlier
    )


def add_photo(
    number: int, made: DecodedPhoto, of: PhotoSubject, *, by: User, at: datetime
) -> Photo:
    """Keep a picture and write it into the ledger, in one transaction; also on a closed job."""
    roles.require(by, "note")
    with transaction.atomic():
        job = Job.objects.select_for_update().get(pk=number)
        if Photo.objects.filter(job=job, removed_at=None).count() >= MOST_OF_A_JOB:
            raise refuse(
                "many",
                gettext("The job has {most_of_a_job} pictures; that is all it takes.").format(
                    most_of_a_job=MOST_OF_A_JOB
                ),
            )
        photo = Photo.objects.create(
            job=job,
            subject=of.subject,
            row=of.row,
            step=of.step,
            caption=of.caption,
            before=of.before,
            visible_to_customer=of.subject != Photo.PARCEL,
            width=made.width,
            height=made.height,
            sha256_sent=made.sha256_sent,
            sha256=made.sha256,
            taken_at=at,
            by=by,
        )
        PhotoImage.objects.create(photo=photo, whole=made.whole, small=made.small)
        commands.add_photo(number, _event_data(photo), by=by, at=at)
    return photo


def _event_data(photo: Photo) -> dict[str, object]:
    data: dict[str, object] = {
        "photo": photo.pk,
        "of": photo.subject,
        "caption": photo.caption,
        "sha256": photo.sha256,
    }
    optional = {"row": photo.row, "step": photo.step, "before": photo.before_id}
    return data | {name: value for name, value in optional.items() if value}


def remove_photo(photo: Photo, *, by: User, at: datetime) -> None:
    """Take the picture itself away; what is written of it in the ledger stays."""
    roles.require(by, "persons")
    _delete_images(Photo.objects.filter(pk=photo.pk), at)


def remove_parcel_photos(jobs: QuerySet[Job], *, at: datetime) -> None:
    """Take away what may show an address: the pictures of parcels."""
    _delete_images(Photo.objects.filter(job__in=jobs, subject=Photo.PARCEL), at)


@transaction.atomic
def _delete_images(photos: QuerySet[Photo], at: datetime) -> None:
    PhotoImage.objects.filter(photo__in=photos).delete()
    PhotoMark.objects.filter(photo__in=photos).delete()
    photos.filter(removed_at=None).update(
        removed_at=at, caption="", marked_sha256="", marked_words=""
    )


def photos_visible_to(person: Person, job: Job) -> list[Photo]:
    """Return the pictures that a person may see: a parcel shows an address, as customers' pages do."""
    photos = photos_of_job(job)
    if roles.may(person, "note"):
        return photos
    return [photo for photo in photos if photo.subject != Photo.PARCEL]


def photos_of_model(make: str, model: str) -> list[Photo]:
    """Return the newest pictures of units of a make and model; of parcels none, they show addresses."""
    if not (make and model):
        return []
    of_model = Photo.objects.filter(job__unit__make=make, job__unit__model=model, removed_at=None)
    return list(of_model.exclude(subject=Photo.PARCEL).order_by("-pk")[:MOST_OF_A_MODEL])


def photos_of_job(job: Job) -> list[Photo]:
    """Return the pictures of a job that are there, oldest first."""
    photos = Photo.objects.filter(job=job, removed_at=None)
    return list(photos.select_related("before", "after").order_by("pk"))
