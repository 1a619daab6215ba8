"""What a soak reads of a unit is something that the unit has."""

from __future__ import annotations

import pytest

from shop.jobs.soaking import warmest


@pytest.mark.parametrize(
    ("facts", "read"),
    [
        ({"unit.output_stage": "valve-push-pull"}, "the mains transformer"),
        ({"unit.output_stage": "valve-single-ended"}, "the mains transformer"),
        ({"unit.output_stage": "class-ab"}, "the heat sink"),
        ({"unit.output_stage": "none"}, "the hottest part"),
        ({}, "the heat sink"),
    ],
)
def test_what_is_read_is_there(facts, read):
    assert warmest(facts) == read


def test_the_next_act_names_it(bench, job):
    bench.open_up(job)
    bench.to_soak(job)
    bench.record(job, "soak_started")
    assert bench.job(job).next_title == "Read the heat sink"
