"""What a customer is told: one sentence for each stage, never two that contradict each other."""

from __future__ import annotations

import pytest
from django.utils import timezone

from shop.customers import stations
from shop.jobs import queries
from shop.jobs.models import Job
from shop.jobs.stages import Stage, Waiting

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("stage", list(Stage))
@pytest.mark.parametrize("waiting", list(Waiting))
def test_every_stage_has_words_whatever_it_waits_on(stage, waiting):
    said = stations.words(Job(stage=stage, waiting_on=waiting))
    assert said.endswith(".")
    assert ("waits for its turn" in said) == (
        stage == Stage.RECEIVED and waiting != Waiting.CUSTOMER
    )


def test_parts_that_are_here_are_not_waited_for():
    on_the_shelf = Job(stage=Stage.AWAITING_PARTS, waiting_on=Waiting.PARTS)
    arrived = Job(stage=Stage.AWAITING_PARTS, waiting_on=Waiting.HANDS)
    assert "until its parts are here" in stations.words(on_the_shelf)
    assert "Its parts are here" in stations.words(arrived)


def test_the_way_has_the_days_of_the_stages_it_came_through(bench, job):
    bench.stage(job, "reproducing")
    way = stations.stations(bench.job(job), queries.record_of(bench.job(job)))
    today = timezone.localdate()
    assert [one.state for one in way] == ["done", "here", *["ahead"] * 4]
    assert [one.day for one in way] == [today, today, *[None] * 4]
    assert [one.title for one in way][-1] == "Repaired and tested"
