"""What the shop itself does to a job: the published pack, the settings, the patience."""

from __future__ import annotations

import logging
from collections.abc import Iterable
from datetime import datetime

from django.db.models import F

from checklists import published
from shop.jobs.commands.transaction import job_transaction
from shop.jobs.models import Job
from shop.jobs.stages import Power
from shop.preferences.definitions import BY_NAME

log = logging.getLogger(__name__)


def refresh(number: int, *, at: datetime) -> bool:
    """Derive the job under the published pack; returns whether it was behind.

    The patience of the job runs on: a new pack is nobody's work on it. A permit that no longer stands under the new rules falls, as with any other change.
    """
    with job_transaction(number, by=None, at=at) as tx:
        behind = tx.job.pack_digest != published.current().digest
        if behind:
            tx.changed("pack_digest")
    return behind


def follow_settings(names: Iterable[str], *, at: datetime) -> None:
    """Look at every unit with mains anew, when a setting has changed that decides over holds.

    A permit that no longer stands falls. One job that cannot be read keeps nothing from the others.
    """
    if not any(BY_NAME[name].decides_holds for name in names):
        return
    energised = Job.objects.exclude(power=Power.ISOLATED.value).order_by("number")
    for number in list(energised.values_list("number", flat=True)):
        try:
            with job_transaction(number, by=None, at=at) as tx:
                tx.changed("pack_digest")
        except Exception:
            log.exception("job %s has mains and could not be derived under the settings", number)


def defer(job: Job, *, until: datetime) -> None:
    """Look at the job again after `until`; somebody else's write in between wins."""
    same = Job.objects.filter(pk=job.number, version=job.version)
    same.update(due_at=until, version=F("version") + 1)
