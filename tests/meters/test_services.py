from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from itertools import count
from threading import Barrier, Thread

import pytest
from django.db import connections
from django.utils import timezone

from checklists import published
from shop.instruments.models import Request
from shop.jobs.commands.signing import NotListed
from shop.jobs.models import Job, LedgerRow
from shop.lib.refusals import BadInput, Forbidden, Refused
from shop.meters import claims, services
from shop.meters.models import Claim
from tests.checklists.engine.test_metering import ASKED, MAY
from tests.helpers import amplifier

pytestmark = pytest.mark.django_db


def ask(job, instrument, by, key="dc-offset", quantity="offset_millivolts", at=None):
    return services.ask_for_step(job, key, quantity, instrument.pk, by=by, at=at or timezone.now())


def test_a_reading_is_asked_for_and_nothing_is_written_to_the_record(live, bench, connected):
    rows = LedgerRow.objects.count()
    made = ask(live, connected(), bench.by)
    assert (made.state, made.measures) == (Request.WAITING, "dc-voltage")
    assert LedgerRow.objects.count() == rows
    assert Claim.objects.get().job_id == live


@pytest.mark.parametrize(
    ("key", "quantity"), [(k, q) for k, q in ASKED if (k, q) not in MAY], ids=str
)
def test_what_proves_a_unit_harmless_is_refused_in_every_state(
    job, bench, connected, monkeypatch, key, quantity
):
    """Every such step of the pack, also where it is on no list of this unit: put on it."""
    meter = connected()
    listed = _on_the_list(bench, job, key, monkeypatch)
    assert quantity in {r.quantity for r in listed.readings}
    with pytest.raises(Refused) as told:
        ask(job, meter, bench.by, key, quantity)
    assert [refusal.code for refusal in told.value.refusals] == ["read-by-hand"]
    assert not Claim.objects.exists()
    assert not Request.objects.exists()


def _on_the_list(bench, job, key, monkeypatch):
    """Return the step as a checklist lists it, from a unit whose facts nobody knows if need be."""
    found = bench.traveller(job).checklist.by_key.get(key)
    if found is not None:
        return found
    like = bench.step(job, "dc-offset")
    step = published.pack().steps[key]
    put = replace(like, step=step)
    real = services.queries.Traveller.of

    def of(one):
        traveller = real(one)
        monkeypatch.setitem(traveller.checklist.by_key, key, put)  # units that are alike share it
        return traveller

    monkeypatch.setattr(services.queries.Traveller, "of", of)
    return put


def test_a_still_0_v_of_an_open_lead_is_not_even_asked_for(job, bench, connected):
    with pytest.raises(Refused, match="a lead that came off reads a still 0"):
        ask(job, connected(), bench.by, "verify-dead", "highest_volts")


def test_with_mains_off_the_offset_is_not_read(job, bench, connected):
    with pytest.raises(Refused, match="power is isolated"):
        ask(job, connected(), bench.by)


def test_a_step_a_reading_and_an_instrument_that_there_are_not(live, bench, connected):
    meter = connected()
    with pytest.raises(NotListed):
        ask(live, meter, bench.by, "no-such-step")
    with pytest.raises(BadInput, match="no such reading"):
        ask(live, meter, bench.by, quantity="loudness")
    meter.pk = 4711
    with pytest.raises(BadInput, match="names no instrument"):
        ask(live, meter, bench.by)


def test_one_that_is_retired_or_not_tested_is_not_asked(live, bench, connected):
    meter = connected()
    meter.connection.__class__.objects.update(identity="")
    with pytest.raises(BadInput, match="names no instrument"):
        ask(live, meter, bench.by)


@pytest.mark.parametrize("role", ["viewer", "desk", "nobody"])
def test_who_may_not_sign_may_not_ask(live, people, connected, role):
    with pytest.raises(Forbidden):
        ask(live, connected(), people.named(role))


def test_an_answer_belongs_to_its_field_alone(live, bench, connected):
    made = ask(live, connected(), bench.by)
    now = timezone.now()
    assert services.asked_for(live, "dc-offset", "offset_millivolts", made.pk, now) == made
    for other in [
        (live, "dc-offset", "before_relay_millivolts"),
        (live, "bias-set-hot", "offset_millivolts"),
        (live + 1, "dc-offset", "offset_millivolts"),
    ]:
        assert services.asked_for(*other, made.pk, now) is None


class TestClaims:
    @pytest.fixture
    def other(self, bench):
        return Job.objects.get(pk=bench.receive(facts=amplifier()))

    def take(self, meter, job, by, at):
        return claims.take(meter, Job.objects.get(pk=int(job)), by=by, at=at)

    def test_one_job_at_a_time(self, job, other, bench, connected):
        meter, now = connected(), timezone.now()
        self.take(meter, job, bench.by, now)
        self.take(meter, job, bench.by, now)
        with pytest.raises(Refused, match=f"is at job {job} until"):
            self.take(meter, other.number, bench.by, now)

    def test_its_job_releases_it_and_no_other_does(self, job, other, bench, connected):
        meter, now = connected(), timezone.now()
        self.take(meter, job, bench.by, now)
        claims.release(meter.pk, other)
        with pytest.raises(Refused):
            self.take(meter, other.number, bench.by, now)
        claims.release(meter.pk, bench.job(job))
        assert self.take(meter, other.number, bench.by, now).job_id == other.number

    def test_its_time_ends_it_and_use_prolongs_it(self, job, other, bench, connected):
        meter, now = connected(), timezone.now()
        self.take(meter, job, bench.by, now)
        later = now + claims.LASTS - timedelta(seconds=1)
        self.take(meter, job, bench.by, later)
        with pytest.raises(Refused):
            self.take(meter, other.number, bench.by, now + claims.LASTS)
        assert self.take(meter, other.number, bench.by, later + claims.LASTS)
        assert claims.of(bench.job(job), later + claims.LASTS) == []

    def test_the_closing_of_its_job_ends_it(self, job, other, bench, connected):
        meter, now = connected(), timezone.now()
        self.take(meter, job, bench.by, now)
        assert [one.instrument for one in claims.of(bench.job(job), now)] == [meter]
        bench.clear(job, "hand-back")
        bench.stage(job, "withdrawn")
        assert claims.of(bench.job(job), now) == []
        assert self.take(meter, other.number, bench.by, now)

    def test_a_refused_request_leaves_no_claim(self, live, other, bench, connected):
        meter = connected()
        ask(live, meter, bench.by)
        Claim.objects.all().delete()
        with pytest.raises(Refused, match="being asked already"):
            ask(live, meter, bench.by)
        assert not Claim.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_two_jobs_at_once_one_gets_it(bench, connected):
    meter = connected()
    jobs = [Job.objects.get(pk=bench.receive(facts=amplifier())) for _ in range(4)]
    barrier, got, refused = Barrier(len(jobs)), [], count()

    def try_it(job):
        barrier.wait()
        try:
            got.append(claims.take(meter, job, by=bench.by, at=timezone.now()).job_id)
        except Refused:
            next(refused)
        finally:
            connections.close_all()

    hands = [Thread(target=try_it, args=[job]) for job in jobs]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join()
    assert len(got) == 1
    assert next(refused) == 3
