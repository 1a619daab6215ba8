"""Whether a permit stands for the job that claims an outlet, read anew each time."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from django.db.models import Exists, OuterRef
from django.utils import timezone

from shop.jobs import guards, queries
from shop.jobs.models import Job, Permit
from shop.jobs.stages import Power
from shop.lib.refusals import Refused
from shop.outlets.doubts import Doubt
from shop.outlets.models import Outlet

NOBODY = "No job claims it."


@dataclass(slots=True)
class _Looked:
    """What the checklist of a job said, and for which state of the job."""

    state: tuple[object, ...]
    against: str


class Standing:
    """Looks at the permit of one outlet. Remembers how far the job had come: it never goes back."""

    def __init__(self, outlet: int) -> None:
        self._outlet = outlet
        self._seen: dict[int, int] = {}
        self._looked: _Looked | None = None

    def against(self) -> str:
        """Return why no enable may be held now; empty when the permit stands.

        Doubt when the database shows an older state than before. Errors of the database pass.
        """
        outlet = Outlet.objects.filter(pk=self._outlet).first()
        if outlet is None or not outlet.is_enabled_by_permits:
            return "It was not commissioned."
        if outlet.claimed_by_job_id is None:
            return outlet.claim_lost or NOBODY
        job = _job(outlet.claimed_by_job_id)
        self._require_not_older(job)
        return _plainly_against(job) or self._checklist_against(job)

    def _require_not_older(self, job: Job) -> None:
        if job.version < self._seen.get(job.number, 0):
            raise Doubt(f"Job {job.number} reads older than it was: the database is stale.")
        self._seen[job.number] = job.version

    def _checklist_against(self, job: Job) -> str:
        """Look at the checklist itself, when the job has changed: the cover, a live exposure, twins."""
        state = (job.number, job.version, job.power, job.cover)
        if self._looked is None or self._looked.state != state:
            self._looked = _Looked(state, _lasting(job, timezone.now()))
        return self._looked.against


def _job(number: int) -> Job:
    permit = Permit.objects.filter(job=OuterRef("pk"), power=OuterRef("power"), ended_at=None)
    return Job.objects.annotate(permitted=Exists(permit)).get(pk=number)


def _plainly_against(job: Job) -> str:
    if job.closed:
        return f"Job {job.number} is closed."
    if job.unplug_due:
        return f"The permit of job {job.number} fell."
    if job.power == Power.ISOLATED or not job.permitted:  # type: ignore[attr-defined]
        return f"Job {job.number} has no permit for mains."
    return ""


def _lasting(job: Job, now: datetime) -> str:
    traveller = queries.Traveller.of(job)
    unmet = guards.against_lasting(job, traveller.record, traveller.checklist)
    return Refused(unmet).sentence[:300] if unmet else ""
