"""Reads: what an outlet reports now, which job is in it, and what every page has to say of it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from importlib.util import find_spec

from django.utils.translation import gettext as _

from shop.jobs.live_units import Notice
from shop.jobs.models import Job
from shop.jobs.stages import Power
from shop.outlets.models import MODBUS, MQTT, Outlet, Report
from shop.preferences import current as preferences

# Nobody knows any more what an outlet measures that has been silent for so long.
STALE = timedelta(seconds=15)
_AHEAD = timedelta(seconds=5)


def are_set_up() -> bool:
    """Whether the shop has decided to have outlets on the network."""
    return bool(preferences.value("outlets"))


def any_outlet() -> bool:
    """Whether there is an outlet to listen to; no query where a shop has decided to have none."""
    return are_set_up() and Outlet.objects.exists()


def missing() -> list[str]:
    """Return the libraries that outlets of this shop need and this machine does not have."""
    kinds = set(Outlet.objects.values_list("kind", flat=True))
    needed = {MQTT: "paho", MODBUS: "pymodbus"}
    return [name for kind, name in needed.items() if kind in kinds and find_spec(name) is None]


@dataclass(frozen=True, slots=True)
class Now:
    """What an outlet reports now; every figure is None when it is not known."""

    watts: float | None = None
    volts: float | None = None
    amps: float | None = None
    enabled: bool | None = None
    closed: bool | None = None
    withheld: str = ""
    since: datetime | None = None

    @property
    def is_known(self) -> bool:
        """Whether a fresh report is there at all."""
        return self.since is not None


def now_of(outlet: Outlet, now: datetime) -> Now:
    """Return the report of an outlet, or that nothing is known: none, an old one, one of tomorrow."""
    report = Report.objects.filter(outlet=outlet).first() if outlet.pk else None
    return _now(report, now)


def _now(report: Report | None, now: datetime) -> Now:
    if report is None or not now - STALE <= report.at <= now + _AHEAD:
        return Now()
    return Now(
        report.watts,
        report.volts,
        report.amps,
        report.enabled,
        report.closed,
        report.withheld,
        report.at,
    )


def outlets(now: datetime) -> list[tuple[Outlet, Now]]:
    """Return every outlet with what it reports; two queries."""
    reports = {report.outlet_id: report for report in Report.objects.all()}
    found = Outlet.objects.select_related("claimed_by_job__unit")
    return [(outlet, _now(reports.get(outlet.pk), now)) for outlet in found]


def of_job(job: Job) -> Outlet | None:
    """Return the outlet that a job claims."""
    return Outlet.objects.filter(claimed_by_job=job).first()


def notices(now: datetime) -> list[Notice]:
    """Return what outlets say against the record, for every page; no query where there are none."""
    if not are_set_up():
        return []
    return [notice for outlet, at in outlets(now) if (notice := _notice(outlet, at))]


def _notice(outlet: Outlet, now: Now) -> Notice | None:
    job = outlet.claimed_by_job
    # A closed job is isolated for good, and its plug is at home.
    recorded_out = (
        job is not None and not job.closed and job.power == Power.ISOLATED and not job.unplug_due
    )
    if job is not None and recorded_out and draws_power(outlet, now):
        return Notice(
            key=f"flows-{outlet.pk}",
            loud=True,
            job=job.number,
            sentence=_(
                "is recorded as plug out, but {outlet} delivers power. Pull the plug."
            ).format(outlet=outlet),
        )
    if outlet.is_enabled_by_permits and now.enabled is False and now.closed is True:
        return Notice(
            key=f"stuck-{outlet.pk}",
            loud=True,
            sentence=_(
                "{outlet} is not enabled, and its contactor is closed: it may be welded. Pull the plug."
            ).format(outlet=outlet),
        )
    if job is not None and recorded_out and now.watts is None:
        return Notice(
            key=f"unknown-{outlet.pk}",
            job=job.number,
            sentence=_(
                "is recorded as plug out. Whether power flows is not known: {outlet} does not report."
            ).format(outlet=outlet),
        )
    return None


def draws_power(outlet: Outlet, now: Now) -> bool:
    """Whether a fresh report tells of power; that it does not tell of any says nothing."""
    return now.watts is not None and abs(now.watts) >= outlet.least_watts


def open_jobs() -> list[Job]:
    """Return the open jobs that may claim an outlet, those with mains first."""
    found = Job.objects.filter(closed_at=None).select_related("unit").order_by("-number")
    return sorted(found, key=lambda job: not (job.energised or job.unplug_due))


def held_for(outlet: Outlet, now: Now) -> str:
    """Say in words whether the enable is held."""
    if not outlet.is_enabled_by_permits:
        return _("It is never enabled: it reports, and no more.")
    if not now.is_known:
        return _("Not known: it has not reported.")
    return now.withheld or _("Its enable is held.")
