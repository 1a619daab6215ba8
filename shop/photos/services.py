"""Pictures come to a job, are paired, and are taken away again."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import QuerySet

from shop.accounts import roles
from shop.jobs import commands
from shop.jobs.events.finding_recorded import FindingRecorded
from shop.jobs.models import Job
from shop.jobs.queries import Traveller
from shop.lib import text
from shop.lib.refusals import bad, refuse
from shop.photos.models import Photo, Picture
from shop.photos.processing import Developed

if TYPE_CHECKING:
    from shop.accounts.roles import Person

MOST_OF_A_JOB = 500


@dataclass(frozen=True)
class About:
    """What a picture shows: `subject` of Photo.SUBJECTS, with the row or step it belongs to.

    `before` is the picture that this one answers, after the work.
    """

    subject: str = Photo.UNIT
    row: int | None = None
    step: str = ""
    caption: str = ""
    before: Photo | None = None


def about(sheet: Traveller, chosen: str, caption: str, before: str = "") -> About:
    """Return what a picture shows from what was chosen on the page: 'unit', 'finding-12', 'step-x'.

    BadInput for a finding, step or earlier picture that this job does not have.
    """
    kept = text.take("caption", caption, 300)
    if before:
        return _answer_to(sheet.job, before, kept)
    subject, _, name = chosen.partition("-")
    findings = {str(row.sequence) for row in sheet.record.of_type(FindingRecorded.event_type)}
    if subject == Photo.FINDING and name in findings:
        return About(subject, row=int(name), caption=kept)
    if subject == Photo.STEP and name in sheet.checklist.by_key:
        return About(subject, step=name, caption=kept)
    if subject in (Photo.UNIT, Photo.PARCEL) and not name:
        return About(subject, caption=kept)
    raise bad("of", f"of is {chosen[:40]!r}; choose what the picture shows.")


def _answer_to(job: Job, before: str, caption: str) -> About:
    known = Photo.objects.filter(job=job, removed_at=None, before=None, after=None)
    key = text.whole(before)
    first = known.filter(pk=key).first() if key is not None else None
    if first is None:
        raise bad("before", "The picture from before is not there, or has its answer already.")
    return About(first.subject, first.row, first.step, caption or first.caption, first)


def add(number: int, made: Developed, of: About, *, by: User, at: datetime) -> Photo:
    """Keep a picture and write it into the ledger, in one transaction; also on a closed job."""
    roles.require(by, "note")
    with transaction.atomic():
        job = Job.objects.select_for_update().get(pk=number)
        if Photo.objects.filter(job=job, removed_at=None).count() >= MOST_OF_A_JOB:
            raise refuse("many", f"The job has {MOST_OF_A_JOB} pictures; that is all it takes.")
        photo = Photo.objects.create(
            job=job,
            subject=of.subject,
            row=of.row,
            step=of.step,
            caption=of.caption,
            before=of.before,
            shown=of.subject != Photo.PARCEL,
            width=made.width,
            height=made.height,
            sha256_sent=made.sha256_sent,
            sha256=made.sha256,
            taken_at=at,
            by=by,
        )
        Picture.objects.create(photo=photo, whole=made.whole, small=made.small)
        commands.add_photo(number, _told(photo), by=by, at=at)
    return photo


def _told(photo: Photo) -> dict[str, object]:
    told: dict[str, object] = {
        "photo": photo.pk,
        "of": photo.subject,
        "caption": photo.caption,
        "sha256": photo.sha256,
    }
    extra = {"row": photo.row, "step": photo.step, "before": photo.before_id}
    return told | {name: value for name, value in extra.items() if value}


def remove(photo: Photo, *, by: User, at: datetime) -> None:
    """Take the picture itself away; what is written of it in the ledger stays."""
    roles.require(by, "persons")
    _take_away(Photo.objects.filter(pk=photo.pk), at)


def remove_parcels(jobs: QuerySet[Job], *, at: datetime) -> None:
    """Take away what may show an address: the pictures of parcels."""
    _take_away(Photo.objects.filter(job__in=jobs, subject=Photo.PARCEL), at)


@transaction.atomic
def _take_away(photos: QuerySet[Photo], at: datetime) -> None:
    Picture.objects.filter(photo__in=photos).delete()
    photos.filter(removed_at=None).update(removed_at=at, caption="")


def seen_by(person: Person, job: Job) -> list[Photo]:
    """Return the pictures that a person may see: a parcel shows an address, as customers' pages do."""
    every = of_job(job)
    if roles.may(person, "note"):
        return every
    return [photo for photo in every if photo.subject != Photo.PARCEL]


def of_job(job: Job) -> list[Photo]:
    """Return the pictures of a job that are there, oldest first."""
    found = Photo.objects.filter(job=job, removed_at=None)
    return list(found.select_related("before", "after").order_by("pk"))
