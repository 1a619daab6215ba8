"""Moves of a job that nothing takes back: what is asked before each, with what follows it."""

from __future__ import annotations

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from checklists import published
from checklists.engine.judging import PASS
from checklists.engine.roles import StepRole
from shop.jobs.models import Job
from shop.jobs.queries import Traveller
from shop.jobs.stages import Stage
from shop.lib.text import spaced
from shop.lib.web.confirming import Question

_CLOSES = gettext_lazy("The job is closed. Only notes, pictures and the parcel can be added to it.")
_BACK_AGAIN = gettext_lazy("A unit that comes back gets a new job.")
_STAGES = {
    Stage.RELEASED: (
        gettext_lazy("Release {unit}?"),
        gettext_lazy("It leaves as repaired, and its record is signed with the key of the shop."),
        gettext_lazy("Yes, release {number}"),
    ),
    Stage.WITHDRAWN: (
        gettext_lazy("Hand {unit} back unrepaired?"),
        gettext_lazy("It goes back as it is; parts that wait for it are free for other jobs."),
        gettext_lazy("Yes, hand {number} back"),
    ),
}
_GIVEN_UP = {"lost": gettext_lazy("lost"), "sent-back": gettext_lazy("sent back")}


def into_stage(traveller: Traveller, to: str) -> Question | None:
    """Return what is asked before a job is closed; None for other stages, and where it is refused."""
    move = next((move for move in traveller.stage_moves if move.to == to), None)
    if to not in _STAGES or move is None or move.refusals:
        return None
    title, what, button = _STAGES[Stage(to)]
    follows = [str(what), str(_CLOSES), str(_BACK_AGAIN)]
    return _asked(traveller.job, str(title), follows, str(button))


def joining(job: Job, other: Job) -> Question:
    """Return what is asked before another job of the unit is closed into this one."""
    closed, kept = other.number, job.number
    follows = [
        _("Job {number} is closed. This cannot be taken back.").format(number=closed),
        _("What was found and done in it is kept in a note of job {number}.").format(number=kept),
        _("Mains is taken off both on the record. Treat the unit as live until its plug is out."),
    ]
    title = _("Close job {other} and go on in {unit}?")
    return _asked(job, title, follows, _("Yes, close job {other}"), other=closed)


def signing(job: Job, key: str, result: str) -> Question | None:
    """Return what is asked before a unit is made unusable; None for every other signature."""
    unusable = published.current().step_with_role(StepRole.MADE_UNUSABLE)
    if key != unusable.key or result != PASS:
        return None
    follows = [
        _("It is recorded as beyond repair and made unusable."),
        _("It goes back with that tag."),
    ]
    return _asked(job, _("Mark {unit} as beyond repair?"), follows, _("Yes, mark {number}"))


def losing_a_part(job: Job, spec: str, why: str) -> Question:
    """Return what is asked before a part on order is given up."""
    said = str(_GIVEN_UP.get(why, spaced(why)))
    follows = [
        _("{part} counts as not ordered again.").format(part=spec),
        _("It stands among what has to be ordered."),
    ]
    title = _("Give the part for {unit} up as {said}?")
    return _asked(job, title, follows, _("Yes, it is {said}"), said=said)


def _asked(job: Job, title: str, follows: list[str], button: str, **more: object) -> Question:
    words = {"unit": f"{job.number} {job.unit}", "number": job.number, **more}
    return Question(
        title=title.format(**words),
        follows=follows,
        button=button.format(**words),
        back=reverse("job", args=[job.number]),
    )
