"""The figures of the flow, counted by the database, against the same counted by hand in random shops."""

from __future__ import annotations

import os
import random
from collections import Counter
from datetime import timedelta

import pytest
from django.utils import timezone

from shop.jobs.models import Job, JobCause, StageVisit, Unit
from shop.jobs.stages import CLOSED, OPEN
from shop.planning import flow_metrics, repair_outcomes, stage_ages
from shop.planning.repair_outcomes import Uncured

pytestmark = pytest.mark.django_db

KINDS, CAUSES = ("receiver", "tuner", ""), ("dry-joint", "relay", "belt")
DAY = timedelta(days=1)


def days_of(span):
    return span / DAY


@pytest.fixture(params=range(3))
def shop(request, db, now):
    """A random shop of 300 jobs, up to two and a half years old, some of which came back."""
    seed = int(os.environ.get("BENCHTAG_SEED", "0")) + request.param
    print(f"seed {seed}: BENCHTAG_SEED={seed} draws the same shop again")
    draw, unit = random.Random(seed), Unit.objects.create(make="Corvenby", model="C 4")
    jobs = [job(draw, unit, now) for _ in range(300)]
    Job.objects.bulk_create(jobs)
    returns = [one for one in jobs if draw.random() < 0.2]
    for one in returns:
        one.returned_from = draw.choice(jobs)
    Job.objects.bulk_update(returns, ["returned_from"])
    StageVisit.objects.bulk_create(stay(draw, one) for one in jobs for _ in range(2))
    JobCause.objects.bulk_create(
        JobCause(job=one, suspect=cause, kind=one.kind)
        for one in jobs
        for cause in draw.sample(CAUSES, draw.choice((0, 0, 1, 2)))
    )
    return jobs


def job(draw, unit, now):
    came = now - draw.choice((30, 90, 900)) * draw.random() * DAY
    closed = draw.random() < 0.6
    left = came + (now - came) * draw.random()
    return Job(
        unit=unit,
        kind=draw.choice(KINDS),
        stage=draw.choice(sorted(CLOSED)) if closed else draw.choice(list(OPEN)),
        received_at=came,
        stage_since=left,
        closed_at=left if closed else None,
    )


def stay(draw, one):
    stage, to = draw.choice(list(OPEN)), draw.choice(["opened", "released"])
    left = one.received_at + draw.random() * 9 * DAY
    return StageVisit(job=one, stage=stage, entered_at=one.received_at, left_at=left, to=to)


def test_what_came_went_and_came_back_in_each_week(shop, now):
    def week(moment):
        day = timezone.localdate(moment)
        return day - day.weekday() * DAY

    came = Counter(week(one.received_at) for one in shop)
    left = Counter(week(one.closed_at) for one in shop if one.closed_at)
    back = Counter(week(one.received_at) for one in shop if one.returned_from)
    rows = flow_metrics.weekly_flow(now)["rows"]
    assert len(rows) == 12
    assert rows[-1]["week"] == week(now)
    for row in rows:
        day = row["week"]
        assert (row["came"], row["left"], row["back"]) == (came[day], left[day], back[day])


def test_littles_averages(shop, now):
    start, window = now - 84 * DAY, 84
    inside = sum(
        max(0.0, days_of(min(one.closed_at or now, now) - max(one.received_at, start)))
        for one in shop
    )
    ended = [
        days_of(one.closed_at - one.received_at)
        for one in shop
        if one.closed_at and start <= one.closed_at
    ]
    found = flow_metrics.littles_law(now)
    assert found.inside == pytest.approx(inside / window, abs=1e-6)
    assert found.per_day * window == pytest.approx(sum(one.received_at >= start for one in shop))
    assert found.days_inside == pytest.approx(sum(ended) / len(ended), abs=1e-6)


def test_what_became_of_the_repairs(shop, now):
    released = [one for one in shop if one.stage == "released" and one.closed_at >= now - 730 * DAY]
    back = {one.returned_from_id for one in shop}
    again = {
        one.job_id
        for one in StageVisit.objects.filter(to="opened")
        if one.stage in ("reassembled", "soaking")
    }
    causes = Counter(JobCause.objects.values_list("job_id", "suspect"))

    def outcome(name, its):
        cured = [one for one in its if one.pk not in back | again]
        return name, len(its), len(cured), sum(one.pk in back for one in its)

    kinds = {
        outcome(kind or "kind not noted", its)
        for kind in KINDS
        if (its := [one for one in released if one.kind == kind])
    }
    named = {
        outcome(cause.replace("-", " "), its)
        for cause in CAUSES
        if (its := [one for one in released if causes[one.pk, cause]])
    }
    ill, year = Uncured.at(now), now - 365 * DAY
    for found, expected in (
        (repair_outcomes.by_unit_kind(ill), kinds),
        (repair_outcomes.by_cause(ill), named),
    ):
        assert {(row.name, row.released, row.cured, row.back) for row in found} == expected
        assert [row.released for row in found] == sorted((e[1] for e in expected), reverse=True)
    of_a_year = [one for one in released if one.closed_at >= year]
    assert repair_outcomes.released(now) == len(of_a_year)
    assert ill.back_of_a_year == back & {one.pk for one in of_a_year}


def test_every_open_unit_counts_and_the_oldest_are_drawn(shop, now):
    extra = [
        Job(unit=shop[0].unit, stage="opened", received_at=now, stage_since=now - n * DAY / 9)
        for n in range(150)
    ]
    Job.objects.bulk_create(extra)
    for row in stage_ages.stage_ages(now)["rows"]:
        stage = row.stage.replace(" ", "_")
        ages = sorted(
            (days_of(now - one.stage_since) for one in [*shop, *extra] if one.stage == stage),
            reverse=True,
        )
        late = [age for age in ages if age > row.percentiles["p85"]]
        assert [dot.age for dot in row.dots] == pytest.approx(ages[: stage_ages.MOST_DOTS])
        assert (row.open, row.late) == (len(ages), len(late))
        assert len(row.late_dots) == min(len(late), stage_ages.MOST_DOTS)


def test_the_page_says_when_not_all_are_drawn(client, people, now):
    client.force_login(people.viewer)
    unit = Unit.objects.create(make="Corvenby", model="C 4")
    for days in range(10):
        made = Job.objects.create(
            unit=unit, stage="released", received_at=now, stage_since=now, closed_at=now
        )
        StageVisit.objects.create(
            job=made, stage="opened", entered_at=now - days * DAY, left_at=now, to="released"
        )
    Job.objects.bulk_create(
        Job(unit=unit, stage="opened", received_at=now, stage_since=now - 20 * DAY)
        for _ in range(52)
    )
    page = " ".join(client.get("/flow/").content.decode().split())
    assert "more than 50 units the oldest 50 are drawn" in page
    assert page.count('class="c-dot c-beyond"') == 50
    assert "and 2 more" in page
