from __future__ import annotations

import pytest

from shop.jobs.models import Job
from shop.reminders import rule_updates
from tests.checklists.engine.packs import rule, step, write
from tests.helpers import amplifier


@pytest.fixture
def new_house_rule(settings, tmp_path):
    """The shop adds a hold to the first-power gate."""

    def publish():
        more = 'gate = "first-power"\ngate_once_opened = "limited-power"\nhold = true'
        folder = write(
            tmp_path / "house", rule("h", "true", "house-look"), step("house-look", more)
        )
        text = (folder / "small.toml").read_text().split("[[rule]]", 1)[1]
        (folder / "small.toml").write_text("[[rule]]" + text)
        settings.HOUSE_PACK_FOLDER = folder

    return publish


def test_open_jobs_follow_a_new_pack(bench, now, new_house_rule):
    number = bench.receive(facts=amplifier())
    assert rule_updates.follow(now=now) == 0
    before = bench.job(number)

    new_house_rule()

    assert rule_updates.follow(now=now) == 1
    after = bench.job(number)
    assert after.pack_digest != before.pack_digest
    assert after.holds_open == before.holds_open + 1
    assert after.due_at == before.due_at, "a new pack is nobody's work on the job"
    assert rule_updates.follow(now=now) == 0


def test_a_permit_that_does_not_stand_under_new_rules_falls(bench, now, new_house_rule):
    number = bench.receive(facts=amplifier())
    bench.limited(number)
    new_house_rule()

    rule_updates.follow(now=now)

    job = bench.job(number)
    assert (job.power, job.unplug_due) == ("isolated", True)
    assert job.ledger.last().by_name == "the system"


def test_closed_jobs_are_left_as_they_were(bench, job, now, new_house_rule):
    bench.pass_gate(job, "hand-back")
    bench.stage(job, "withdrawn")
    new_house_rule()
    assert rule_updates.follow(now=now) == 0


def test_one_job_that_cannot_be_derived_does_not_stop_the_rest(
    bench, now, new_house_rule, monkeypatch
):
    bad, good = bench.receive(), bench.receive()
    new_house_rule()
    real = rule_updates.commands.refresh

    def sometimes(number, *, at):
        if number == bad:
            raise RuntimeError("a bad row")
        return real(number, at=at)

    monkeypatch.setattr(rule_updates.commands, "refresh", sometimes)
    assert rule_updates.follow(now=now) == 1
    assert Job.objects.get(pk=good).pack_digest != Job.objects.get(pk=bad).pack_digest


def test_many_jobs_are_brought_up_in_chunks_around_the_ones_that_fail(
    bench, now, new_house_rule, monkeypatch
):
    numbers = [bench.receive() for _ in range(9)]
    monkeypatch.setattr(rule_updates, "BATCH", 2)
    new_house_rule()
    real = rule_updates.commands.refresh

    def sometimes(number, *, at):
        if number in numbers[:3]:
            raise RuntimeError("a bad row")
        return real(number, at=at)

    monkeypatch.setattr(rule_updates.commands, "refresh", sometimes)
    assert rule_updates.follow(now=now) == 6
    assert rule_updates.follow(now=now, seconds=0) == 0
