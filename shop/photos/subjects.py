"""What the pictures of a job can show, and the pictures by what they show."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.utils.translation import gettext as _

from shop.jobs.events.finding_recorded import FindingRecorded
from shop.jobs.queries import Traveller
from shop.lib.pack_words import pack_text, pack_word
from shop.lib.text import spaced
from shop.photos.models import Photo


@dataclass(frozen=True)
class Pair:
    """A picture, and the one taken after the work, when there is one."""

    first: Photo
    after: Photo | None


@dataclass(frozen=True)
class Group:
    """The pictures of one subject."""

    title: str
    pairs: list[Pair]


def subjects(traveller: Traveller) -> list[tuple[str, str]]:
    """Return what can be chosen, as value and words."""
    choices = [(Photo.UNIT, _("The unit")), (Photo.PARCEL, _("The parcel"))]
    for row in traveller.record.of_type(FindingRecorded.event_type):
        section = f" ({spaced(row.data['section'])})" if row.data.get("section") else ""
        choices.append(
            (
                f"finding-{row.sequence}",
                _("Finding: {finding}").format(finding=pack_word(row.data["finding"]) + section),
            )
        )
    steps = [
        (f"step-{step.key}", _("Step: {title}").format(title=pack_text(step.step.title)))
        for step in traveller.checklist.steps
    ]
    return choices + steps


def groups(traveller: Traveller, photos: Sequence[Photo]) -> list[Group]:
    """Return the pictures by subject, in the order the subjects are offered."""
    titles = dict(subjects(traveller))
    pairs_by_subject: dict[str, list[Pair]] = {}
    for photo in photos:
        if photo.before_id is None or photo.before is None or photo.before.removed_at:
            pairs_by_subject.setdefault(_value(photo), []).append(Pair(photo, _after(photo)))
    listed = [
        Group(titles[value], pairs_by_subject.pop(value))
        for value in list(titles)
        if value in pairs_by_subject
    ]
    # A step that is no longer on the list keeps its pictures.
    return listed + [Group(spaced(value), pairs) for value, pairs in pairs_by_subject.items()]


def _after(photo: Photo) -> Photo | None:
    after: Photo | None = getattr(photo, "after", None)
    return after if after is not None and after.removed_at is None else None


def _value(photo: Photo) -> str:
    name = photo.row if photo.subject == Photo.FINDING else photo.step
    return f"{photo.subject}-{name}" if name else photo.subject
