"""When an enable is withheld, and what is a doubt: read from the database of a real shop."""

from __future__ import annotations

import time

import pytest
from django.db import OperationalError, connection
from django.db.models import F
from django.utils import timezone

from shop.jobs import commands
from shop.jobs.models import Job
from shop.lib.refusals import Forbidden
from shop.outlets import claims, doubts
from shop.outlets.doubts import Doubt, SteadyClock
from shop.outlets.lease import Lease, Terms
from shop.outlets.models import REPORTS, UNDER_TEST, HolderLease, Outlet
from shop.outlets.standing import Standing

pytestmark = pytest.mark.django_db


@pytest.fixture
def claimed(outlet, job, people, now):
    claims.claim(outlet.pk, job, by=people.technician, at=now)
    return outlet


@pytest.fixture
def live(bench, job):
    bench.limited(job)
    return job


def against(outlet):
    return Standing(outlet.pk).against()


def test_a_permit_stands(claimed, live):
    assert against(claimed) == ""


def test_without_a_permit_nothing_is_enabled(claimed, job):
    assert against(claimed) == f"Job {job} has no permit for mains."


def test_an_outlet_under_test_needs_a_permit_as_any_other(claimed, job, bench):
    Outlet.objects.update(use=UNDER_TEST)
    assert "no permit" in against(claimed)
    bench.limited(job)
    assert against(claimed) == ""


def test_an_outlet_that_was_not_commissioned_is_never_enabled(claimed, live):
    Outlet.objects.update(use=REPORTS)
    assert against(claimed) == "It was not commissioned."


def test_a_permit_of_a_job_that_claims_nothing_enables_nothing(outlet, live):
    assert against(outlet) == "No job claims it."


def test_a_permit_that_fell_enables_nothing(claimed, live, bench):
    bench.record(live, "finding_recorded", finding="insulation-damaged")
    assert against(claimed) == f"The permit of job {live} fell."


def test_a_plug_that_is_doubted_enables_nothing(claimed, live, bench, people, now):
    bench.power(live, "isolated")
    commands.doubt_plug(live, by=people.technician, at=timezone.now())
    assert against(claimed)


def test_an_open_cover_without_a_live_exposure_enables_nothing(claimed, live):
    standing = Standing(claimed.pk)
    assert standing.against() == ""
    Job.objects.filter(pk=live).update(cover="off")
    assert standing.against()
    Job.objects.filter(pk=live).update(cover="on")
    assert standing.against() == ""


def test_an_open_cover_in_a_live_exposure_is_enabled(claimed, job, bench):
    bench.open_up(job)
    bench.limited(job)
    assert bench.job(job).cover == "off"
    assert against(claimed) == ""


def test_a_second_claim_takes_it_from_both(claimed, live, bench, people, now):
    other = bench.receive()
    said = claims.claim(claimed.pk, other, by=people.technician, at=now)
    assert "Neither has it now" in said
    assert against(claimed) == f"Job {live} claimed it, then job {other} did."
    claims.claim(claimed.pk, other, by=people.technician, at=now)
    assert Outlet.objects.get().claimed_by_job_id == other


def test_scanning_twice_changes_nothing(claimed, live, people, now):
    assert claims.claim(claimed.pk, live, by=people.technician, at=now).endswith("already.")
    assert against(claimed) == ""


def test_a_job_leaves_its_first_outlet(claimed, live, people, now):
    second = Outlet.objects.create(name="B2", kind="modbus", host="b2", port=502)
    claims.claim(second.pk, live, by=people.technician, at=now)
    assert against(claimed) == "No job claims it."


def test_a_closed_job_claims_nothing(claimed, job, people, now):
    Job.objects.filter(pk=job).update(closed_at=now, stage="withdrawn")
    assert against(claimed) == f"Job {job} is closed."
    assert "is closed" in claims.claim(claimed.pk, job, by=people.technician, at=now)


def test_a_claim_of_a_closed_job_is_free(claimed, job, bench, people, now):
    Job.objects.filter(pk=job).update(closed_at=now, stage="withdrawn")
    other = bench.receive()
    assert "is in B1" in claims.claim(claimed.pk, other, by=people.technician, at=now)


def test_the_desk_claims_nothing_and_may_end_a_claim(claimed, job, people, now):
    with pytest.raises(Forbidden):
        claims.claim(claimed.pk, job, by=people.desk, at=now)
    claims.give_up(claimed.pk, by=people.viewer)
    assert Outlet.objects.get().claimed_by_job is None


def test_a_database_that_goes_back_is_a_doubt(claimed, live):
    standing = Standing(claimed.pk)
    standing.against()
    Job.objects.filter(pk=live).update(version=F("version") - 1)
    with pytest.raises(Doubt, match="stale"):
        standing.against()


@pytest.mark.parametrize("jump", [-3600, -0.6, 0.6, 3600])
def test_a_clock_that_jumps_is_a_doubt(jump):
    off = [0.0]
    clock = SteadyClock(lambda: time.time() + off[0])
    clock.check()
    off[0] = jump
    with pytest.raises(Doubt, match="jumped"):
        clock.check()


def test_a_clock_that_runs_is_none(monkeypatch):
    clock = SteadyClock()
    for _ in range(3):
        clock.check()


def test_another_file_is_a_doubt(monkeypatch, tmp_path):
    one = tmp_path / "shop.sqlite3"
    one.write_bytes(b"1")
    monkeypatch.setattr(doubts.connection, "vendor", "sqlite", raising=False)
    monkeypatch.setitem(connection.settings_dict, "NAME", str(one))
    same = doubts.SameFile()
    same.check()
    (tmp_path / "new").write_bytes(b"2")
    (tmp_path / "new").replace(one)
    with pytest.raises(Doubt, match="replaced"):
        same.check()
    one.unlink()
    with pytest.raises(Doubt, match="gone"):
        same.check()


class TestLease:
    """Two processes, and a clock of seconds that the test moves."""

    @pytest.fixture(autouse=True)
    def _clock(self, monkeypatch):
        self.now = 100.0
        monkeypatch.setattr("shop.outlets.lease.elapsed", lambda: self.now)

    def test_one_takes_it_and_the_other_waits(self):
        first, second = Lease("a"), Lease("b")
        assert first.try_take()
        for _ in range(30):
            self.now += 1
            first.keep()
            assert not second.try_take()

    def test_the_other_takes_over_when_the_first_stops_counting(self):
        first, second = Lease("a"), Lease("b")
        assert first.try_take()
        assert not second.try_take()
        self.now += Terms().take_over + 0.1
        assert second.try_take()
        with pytest.raises(Doubt):
            first.keep()

    def test_the_first_has_stopped_before_the_other_may_take_over(self):
        first = Lease("a")
        assert first.try_take()
        self.now += Terms().good + 0.1
        with pytest.raises(Doubt, match="not be renewed"):
            first.check()
        assert Terms().good < Terms().take_over

    def test_a_count_that_is_not_stored_is_good_for_a_while(self, monkeypatch):
        first = Lease("a")
        assert first.try_take()

        def locked(*_):
            raise OperationalError("database is locked")

        monkeypatch.setattr("shop.outlets.lease.waiting.at_most", locked)
        self.now += 2
        first.keep()
        self.now += 2
        with pytest.raises(Doubt, match="not be renewed"):
            first.keep()

    def test_what_is_given_back_is_free_at_once(self):
        first, second = Lease("a"), Lease("b")
        assert first.try_take()
        first.give_back()
        assert second.try_take()
        first.give_back()
        assert HolderLease.objects.get().token == "b"
