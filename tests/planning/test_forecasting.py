from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.utils import timezone

from shop.jobs.models import Job, StageVisit, Unit
from shop.parts.models import Order
from shop.parts.orders import LineToOrder
from shop.planning import forecasting, ordering
from shop.planning.forecasting import Forecaster
from tests.factories import PartFactory, SupplierFactory
from tests.helpers import amplifier
from tests.planning.test_ordering import needing

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def past(now, stage, days, rest, kind="", ended=40):
    """A job released `ended` days ago that was `days` in a stage and then `rest` days to its end."""
    end = now - ended * DAY
    job = Job.objects.create(
        unit=Unit.objects.create(make="Past"),
        stage="released",
        kind=kind,
        received_at=end - (days + rest) * DAY,
        stage_since=end,
        closed_at=end,
    )
    return StageVisit.objects.create(
        job=job,
        stage=stage,
        kind=kind,
        entered_at=end - (days + rest) * DAY,
        left_at=end - rest * DAY,
        to="opened",
    )


def finish(bench, number, now=None):
    job = bench.job(number)
    return Forecaster(now or timezone.now(), [job]).finish(job)


def test_a_shop_without_history_says_so_in_words(bench, now):
    number = bench.receive(facts=amplifier())
    forecast = finish(bench, number)
    assert forecast.half is None
    assert forecast.words == (
        "Too few closed jobs to tell a date: 0 on record in this stage, 8 are needed."
    )


def test_a_range_from_what_earlier_jobs_took(bench, now):
    for days in range(1, 21):
        past(now, "received", days=1, rest=days)
    forecast = finish(bench, bench.receive(facts=amplifier()), now)
    # 2 to 21 days from entering the stage: half of them between about 7 and 16.
    assert abs((forecast.half[0] - timezone.localdate(now)).days - 7) <= 3
    assert abs((forecast.half[1] - timezone.localdate(now)).days - 16) <= 3
    assert forecast.most[0] <= forecast.half[0] <= forecast.half[1] <= forecast.most[1]
    assert forecast.words.startswith("ready between ")
    assert "most likely" in forecast.words
    assert forecast.basis == "20 earlier jobs in this stage"


def test_its_own_kind_counts_once_there_are_enough(bench, now):
    for n in range(20):
        past(now, "received", 1, 50 + n, kind="mixer")
        past(now, "received", 1, 2 + n % 2, kind="integrated-amplifier")
    forecast = finish(bench, bench.receive(facts=amplifier()), now)
    assert "of its kind" in forecast.basis
    assert (forecast.most[1] - timezone.localdate(now)).days < 10


def test_where_its_kind_is_too_quick_to_compare_all_kinds_speak(bench, now):
    for n in range(20):
        past(now, "received", 40, 5 + n, kind="mixer")
        past(now, "received", 1, 2, kind="integrated-amplifier")
    number = bench.receive(facts=amplifier())
    Job.objects.filter(pk=number).update(stage_since=now - 20 * DAY)
    forecast = finish(bench, number, now)
    assert forecast.half is not None
    assert forecast.basis == "40 earlier jobs in this stage"


def test_a_job_older_than_all_before_it_gets_no_date(bench, now):
    for days in range(1, 21):
        past(now, "received", 1, days)
    number = bench.receive(facts=amplifier())
    Job.objects.filter(pk=number).update(stage_since=now - 200 * DAY)
    forecast = finish(bench, number, now)
    assert forecast.half is None
    assert forecast.words == "No earlier job was received for so long, so no date can be given."


def test_the_dates_are_days_on_which_the_shop_is_open(bench, now):
    for _ in range(20):
        past(now, "received", 1, 3)
    forecast = finish(bench, bench.receive(facts=amplifier()), now)
    for day in (*forecast.half, *forecast.most, forecast.likely):
        assert day.weekday() < 5


def test_a_parcel_on_its_way_tells_by_its_supplier(bench, now):
    supplier, part = SupplierFactory(), PartFactory()
    for n in range(12):
        past(now, "awaiting_parts", days=20, rest=4)
        placed = now - (60 + n) * DAY
        Order.objects.create(
            supplier=supplier,
            placed_at=placed,
            placed_by=bench.by,
            expected_on=placed.date(),
            first_arrival_at=placed + 3 * DAY,
            closed_at=placed + 3 * DAY,
        )
    need = needing(bench, part)
    without = finish(bench, need[0], now)
    line = LineToOrder(part, 1, Decimal(1), ((need, 1),))
    ordering.place(supplier, [line], by=bench.by, at=now)
    forecast = finish(bench, need[0], now)
    assert "delivery" in forecast.basis
    # Three days for the parcel and four after it, against 24 from the stage alone.
    assert (forecast.most[1] - timezone.localdate(now)).days <= 9
    assert (without.most[1] - timezone.localdate(now)).days >= 20


def test_a_fuller_bench_takes_longer_and_hands_make_up_for_it(bench, now, settings):
    for n in range(60):
        past(now, "opened", days=3, rest=7, ended=n % 80 + 1)
    usual = forecasting.load(now)
    for _ in range(12):
        bench.receive(facts=amplifier())
    settings.HANDS = 1
    alone = forecasting.load(now)
    settings.HANDS = 2
    assert alone == pytest.approx(2 * forecasting.load(now))
    assert alone > usual
    assert forecasting.hands_share(now) == 1.0


def test_an_unknown_usual_changes_nothing(db, now):
    assert forecasting.load(now) == 1.0
    assert forecasting.hands_share(now) == 0.0


def test_a_closed_job_has_left(bench):
    number = bench.receive(facts=amplifier())
    bench.pass_gate(number, "hand-back")
    bench.stage(number, "withdrawn")
    assert finish(bench, number).words == "It has left."


def test_the_same_job_is_told_the_same_twice(bench, now):
    for days in range(1, 21):
        past(now, "received", 1, days)
    number = bench.receive(facts=amplifier())
    assert finish(bench, number, now) == finish(bench, number, now)


def test_the_finish_is_shown_on_its_page(client, people, bench, now):
    client.force_login(people.viewer)
    number = bench.receive(facts=amplifier())
    page = client.get(f"/jobs/{number}/finish/").content.decode()
    assert "Too few closed jobs to tell a date" in page
