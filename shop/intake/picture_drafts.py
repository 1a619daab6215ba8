"""Pictures of a refused intake: kept for the next try, handed to the job, thrown away after a day."""

from __future__ import annotations

from dataclasses import asdict, fields
from datetime import datetime, timedelta

from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils.translation import gettext as _

from shop.accounts.roles import signed_in
from shop.intake.models import PictureDraft
from shop.lib.refusals import UserFacingError, bad
from shop.lib.text import whole
from shop.photos import form_uploads, services
from shop.photos.processing import DecodedPhoto
from shop.photos.services import PhotoSubject

KEPT_FOR = timedelta(days=1)
MOST_OF_A_PERSON = 20


def keep(request: HttpRequest, at: datetime) -> list[str]:
    """Keep the pictures of a refused form beside those kept before; return a sentence for each refused."""
    purge(now=at)
    kept: list[str] = []

    def save(name: str, photo: DecodedPhoto) -> None:
        if PictureDraft.objects.filter(by=signed_in(request)).count() >= MOST_OF_A_PERSON:
            raise bad(
                "photo",
                _("{most_of_a_person} pictures are kept; send {name} again later.").format(
                    most_of_a_person=MOST_OF_A_PERSON, name=name
                ),
            )
        draft = PictureDraft(by=signed_in(request), name=name[:200], kept_at=at, **asdict(photo))
        draft.save()
        kept.append(str(draft.pk))

    refused = form_uploads.each_upload(request, save).refused
    posted = request.POST.copy()
    posted.setlist("kept", [*posted.getlist("kept"), *kept])
    request.POST = posted  # type: ignore[assignment]
    return refused


def drafts_of(request: HttpRequest) -> QuerySet[PictureDraft]:
    """Return the pictures that the form names and that this person sent."""
    keys = [key for key in map(whole, request.POST.getlist("kept")) if key is not None]
    return PictureDraft.objects.filter(by=signed_in(request), pk__in=keys)


def hand_over(request: HttpRequest, number: int, subject: PhotoSubject, at: datetime) -> list[str]:
    """Give the kept pictures to the job; return a sentence for each that it does not take."""
    refused = []
    for draft in drafts_of(request):
        try:
            services.add_photo(number, _decoded(draft), subject, by=signed_in(request), at=at)
        except UserFacingError as error:
            refused.append(str(error))
        draft.delete()
    return refused


def _decoded(draft: PictureDraft) -> DecodedPhoto:
    values = {field.name: getattr(draft, field.name) for field in fields(DecodedPhoto)}
    return DecodedPhoto(**values | {"whole": bytes(draft.whole), "small": bytes(draft.small)})


def purge(*, now: datetime) -> int:
    """Throw away what was kept for longer than a day; return how many."""
    return PictureDraft.objects.filter(kept_at__lt=now - KEPT_FOR).delete()[0]
