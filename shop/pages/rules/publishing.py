"""Publishing house rules: units with mains follow in the same transaction."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from checklists import house
from checklists.models import HouseEdition
from shop.jobs import commands
from shop.jobs.models import Job
from shop.jobs.stages import Power

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Publication:
    """An edition in force, the jobs whose permit fell under it, and those it could not be tried on."""

    edition: HouseEdition
    fell: list[int]
    failed: list[int]


def publish(*, by: str, at: datetime) -> Publication:
    """Put the draft in force; mains that does not stand under it falls with it, or nothing is kept.

    NothingToPublish, or PackError when the draft no longer fits the pack. Jobs without mains
    follow by the clock.
    """
    with transaction.atomic():
        edition = house.publish(by=by, at=at)
        energised = Job.objects.exclude(power=Power.ISOLATED.value).order_by("number")
        numbers = list(energised.values_list("number", flat=True))
        failed = [number for number in numbers if not _followed(number, at)]
        left = set(energised.values_list("number", flat=True))
    fell = [number for number in numbers if number not in left]
    return Publication(edition, fell, failed)


def _followed(number: int, at: datetime) -> bool:
    """Bring one job up to the edition. One that cannot be read does not keep rules from the others."""
    try:
        commands.refresh(number, at=at)
    except Exception:
        log.exception("job %s has mains and could not be derived under the new rules", number)
        return False
    return True
