from __future__ import annotations

from datetime import timedelta

import time_machine
from django.utils import timezone

from checklists.engine.words import LEAVE, UNATTENDED


def keys(bench, job, exposure):
    return [step.key for step in bench.asked(job, exposure)]


def test_a_unit_leaves_the_morning_after_without_a_new_place_to_run(bench, job):
    bench.soak(job)
    bench.leave_gates(job)
    with time_machine.travel(timezone.now() + timedelta(days=1)):
        assert bench.state(job, "soak-place") == "ended"
        assert keys(bench, job, LEAVE) == []
        assert bench.stage(job, "released").stage == "released"


def test_another_run_the_morning_after_asks_for_the_place_again(bench, job):
    bench.soak(job)
    bench.power(job, "isolated")
    with time_machine.travel(timezone.now() + timedelta(days=1)):
        assert "soak-place" in keys(bench, job, UNATTENDED)
