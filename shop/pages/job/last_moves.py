"""Moves of a job that nothing takes back: what is asked before each, with what follows it."""

from __future__ import annotations

from django.urls import reverse

from checklists import published
from checklists.engine.judging import PASS
from checklists.engine.roles import StepRole
from shop.jobs.models import Job
from shop.jobs.queries import Traveller
from shop.jobs.stages import Stage
from shop.lib.web.confirming import Question

_CLOSES = "The job is closed. Only notes, pictures and the parcel can be added to it."
_BACK_AGAIN = "A unit that comes back gets a new job."
_STAGES: dict[str, tuple[str, str, str]] = {
    Stage.RELEASED: (
        "Release {unit}?",
        "It leaves as repaired, and its record is signed with the key of the shop.",
        "Yes, release {number}",
    ),
    Stage.WITHDRAWN: (
        "Hand {unit} back unrepaired?",
        "It goes back as it is; parts that wait for it are free for other jobs.",
        "Yes, hand {number} back",
    ),
}


def into_stage(traveller: Traveller, to: str) -> Question | None:
    """Return what is asked before a job is closed; None for other stages, and where it is refused."""
    move = next((move for move in traveller.stage_moves if move.to == to), None)
    if to not in _STAGES or move is None or move.refusals:
        return None
    title, what, button = _STAGES[to]
    return _asked(traveller.job, title, [what, _CLOSES, _BACK_AGAIN], button)


def joining(job: Job, other: Job) -> Question:
    """Return what is asked before another job of the unit is closed into this one."""
    follows = [
        f"Job {other.number} is closed. This cannot be taken back.",
        f"What was found and done in it is kept in a note of job {job.number}.",
        "Mains is taken off both on the record. Treat the unit as live until its plug is out.",
    ]
    title = f"Close job {other.number} and go on in {{unit}}?"
    return _asked(job, title, follows, f"Yes, close job {other.number}")


def signing(job: Job, key: str, result: str) -> Question | None:
    """Return what is asked before a unit is made unusable; None for every other signature."""
    unusable = published.current().step_with_role(StepRole.MADE_UNUSABLE)
    if key != unusable.key or result != PASS:
        return None
    follows = ["It is recorded as beyond repair and made unusable.", "It goes back with that tag."]
    return _asked(job, "Mark {unit} as beyond repair?", follows, "Yes, mark {number}")


def losing_a_part(job: Job, spec: str, why: str) -> Question:
    """Return what is asked before a part on order is given up."""
    said = why.replace("-", " ")
    follows = [f"{spec} counts as not ordered again.", "It stands among what has to be ordered."]
    return _asked(job, f"Give the part for {{unit}} up as {said}?", follows, f"Yes, it is {said}")


def _asked(job: Job, title: str, follows: list[str], button: str) -> Question:
    words = {"unit": f"{job.number} {job.unit}", "number": job.number}
    return Question(
        title=title.format(**words),
        follows=follows,
        button=button.format(**words),
        back=reverse("job", args=[job.number]),
    )
