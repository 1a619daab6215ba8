"""`/metrics`: what the shop looks like to a monitor, in the text format of Prometheus.

All figures come from the database, so that any process answers for the whole shop.
"""

from __future__ import annotations

import hmac
from collections.abc import Iterator

from django.conf import settings
from django.db.models import Count, Min, Q
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET
from prometheus_client import CollectorRegistry, generate_latest
from prometheus_client.core import GaugeMetricFamily, Metric
from prometheus_client.exposition import CONTENT_TYPE_PLAIN_0_0_4

from checklists import published
from shop.accounts import roles
from shop.backups import queries as backups
from shop.jobs import queries
from shop.jobs.models import Job
from shop.jobs.stages import Power
from shop.parts import orders
from shop.parts.models import Order
from shop.reminders.models import Reminder, StaffEmail


class _Shop:
    """Collects the gauges; a handful of queries however many jobs there are."""

    def collect(self) -> Iterator[Metric]:
        """Yield every gauge."""
        open_jobs = Job.objects.filter(closed_at=None)
        yield _by("benchtag_jobs_open", "Open jobs by stage.", "stage", open_jobs)
        yield _by(
            "benchtag_jobs_waiting", "Open jobs by what they wait on.", "waiting_on", open_jobs
        )
        energised = Job.objects.exclude(power=Power.ISOLATED.value).count()
        yield GaugeMetricFamily("benchtag_units_energised", "Units with mains.", energised)
        follow, every = queries.following(published.current().digest)
        yield GaugeMetricFamily(
            "benchtag_jobs_behind_rules",
            "Open jobs not derived under the rules in force.",
            every - follow,
        )
        open_reminders = Reminder.objects.filter(cleared_at=None, job__closed_at=None)
        yield _by("benchtag_reminders_open", "Reminders not settled.", "topic", open_reminders)
        late_orders = Order.objects.filter(orders.overdue(timezone.localdate())).count()
        yield GaugeMetricFamily(
            "benchtag_parcels_late", "Orders that should have come.", late_orders
        )
        yield from _emails()
        yield from _backups()


def _by(name: str, help_: str, column: str, rows: object) -> Metric:
    gauge = GaugeMetricFamily(name, help_, labels=[column])
    counted = rows.order_by().values_list(column).annotate(n=Count("pk"))  # type: ignore[attr-defined]
    for value, count in counted:
        gauge.add_metric([str(value)], count)
    return gauge


def _emails() -> Iterator[Metric]:
    waiting = StaffEmail.objects.filter(
        sent_at=None, given_up_at=None, send_after__lte=timezone.now()
    )
    totals = waiting.aggregate(n=Count("pk"), oldest=Min("send_after"))
    given_up = StaffEmail.objects.filter(~Q(given_up_at=None)).count()
    age = (timezone.now() - totals["oldest"]).total_seconds() if totals["oldest"] else 0.0
    yield GaugeMetricFamily(
        "benchtag_letters_waiting", "E-mails to the shop due and not sent.", totals["n"]
    )
    yield GaugeMetricFamily("benchtag_letters_oldest_seconds", "How long the oldest is due.", age)
    yield GaugeMetricFamily(
        "benchtag_letters_given_up", "E-mails to the shop that never went out.", given_up
    )


def _backups() -> Iterator[Metric]:
    state = backups.state(timezone.now())
    if state.sound_at is not None:
        age = (timezone.now() - state.sound_at).total_seconds()
        yield GaugeMetricFamily(
            "benchtag_backup_age_seconds", "Since the newest sound backup began.", age
        )
    yield GaugeMetricFamily(
        "benchtag_backup_faulty", "1 when the last backup failed or is old.", bool(state.sentence)
    )


@require_GET
def metrics(request: HttpRequest) -> HttpResponse:
    """Answer for the monitor's token, or for somebody signed in who may read."""
    if not (_has_token(request) or roles.may(request.user, "read")):
        return HttpResponse("Send Authorization: Bearer with the metrics token.\n", status=401)
    registry = CollectorRegistry(auto_describe=False)
    registry.register(_Shop())  # type: ignore[arg-type]
    return HttpResponse(generate_latest(registry), content_type=CONTENT_TYPE_PLAIN_0_0_4)


def _has_token(request: HttpRequest) -> bool:
    sent = request.headers.get("Authorization", "").removeprefix("Bearer ")
    wanted = settings.METRICS_TOKEN
    return bool(wanted) and hmac.compare_digest(sent.encode(), wanted.encode())
