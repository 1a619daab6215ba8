"""The unit of a job: found by its name, locked, and open in one job at a time."""

from __future__ import annotations

from django.utils.translation import gettext as _

from shop.jobs.identity import identity_of
from shop.jobs.models import Job, Unit
from shop.jobs.stages import Stage
from shop.lib.refusals import Refusal, Refused


class AlreadyHere(Refused):
    """The unit has an open job; `number` is the first of them."""

    def __init__(self, numbers: list[int]) -> None:
        self.number = numbers[0]
        named = " and ".join(str(number) for number in numbers)
        jobs = (
            _("job {number} is open").format(number=named)
            if len(numbers) == 1
            else _("jobs {numbers} are open").format(numbers=named)
        )
        sentence = _("This unit is here already: {jobs}. Add what is new to it.").format(jobs=jobs)
        super().__init__([Refusal("already-here", sentence)])


def locked_unit(make: str, model: str, serial: str) -> Unit:
    """Return the unit of this name, locked until the transaction ends; a new one when none is known.

    A serial number that identifies nothing always makes a new one.
    """
    name = {"make": make, "model": model, "serial": serial}
    identity = identity_of(**name)
    if not identity:
        return Unit.objects.create(**name)
    # The constraint lets one of two through that make it at one moment; the other finds it.
    unit, _ = Unit.objects.get_or_create(identity=identity, defaults=name)
    return Unit.objects.select_for_update().get(pk=unit.pk)


def require_not_here(unit: Unit, *, but: int = 0) -> None:
    """Raise AlreadyHere when the unit has an open job other than `but`."""
    numbers = [number for number in unit.open_jobs() if number != but]
    if numbers:
        raise AlreadyHere(numbers)


def last_release(unit: Unit) -> Job | None:
    """Return the job from which the unit comes back as repaired; None when it was never released."""
    return unit.jobs.filter(stage=Stage.RELEASED.value).order_by("-number").first()
