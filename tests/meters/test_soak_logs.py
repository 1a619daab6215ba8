"""A soak that logs itself: what is due is read, and what could not be read is told, not filled in."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from shop.instruments import answering, asking
from shop.instruments.models import Connection, Request
from shop.jobs import queries, soaking
from shop.jobs.models import LedgerRow
from shop.lib.refusals import BadInput, Forbidden, Refused
from shop.meters import claims, soak_logs
from shop.meters.models import Claim, SoakLog
from tests.helpers import amplifier
from tests.instruments.simulated import meter
from tests.meters.conftest import WARM

pytestmark = pytest.mark.django_db
SINK = "sink_celsius"


@pytest.fixture
def soaking_job(bench):
    number = bench.receive(facts=amplifier())
    bench.open_up(number)
    bench.to_soak(number)
    return number


@pytest.fixture
def thermometer(connected):
    return connected("Bench thermometer", "TCPIP::127.0.0.1::9::SOCKET", WARM)


@pytest.fixture
def reads(monkeypatch):
    """What the instrument gives in place of a socket: a value, or a sentence."""
    given = []

    def answer(request):
        found = given[0] if len(given) == 1 else given.pop(0)
        value = found if isinstance(found, float) else None
        state = Request.FAILED if value is None else Request.DONE
        asking.end(request, state, value=value, said="" if value is not None else found)

    monkeypatch.setattr(answering, "answer", answer)
    return given


@pytest.fixture
def rounds(monkeypatch):
    """Let the worker do its rounds at minutes from the start of the soak."""

    def run(start, *minutes):
        for minute in minutes:
            with time_machine.travel(start + timedelta(minutes=minute), tick=False):
                soak_logs.log_soaks(now=timezone.now())

    return run


def choose(job, instrument, by, at=None):
    number = instrument.pk if instrument else ""
    soak_logs.choose(job, {SINK: number}, by=by, at=at or timezone.now())


def readings(number):
    rows = LedgerRow.objects.filter(job=number, event_type="soak_reading").order_by("sequence")
    return [(row.data["value"], row.data["unit"], row.data["source"]) for row in rows]


def gaps(number):
    rows = LedgerRow.objects.filter(job=number, event_type="note_added").order_by("sequence")
    return [row.data["text"] for row in rows]


@pytest.fixture
def started(bench, soaking_job, thermometer):
    """A soak that began now, logged by the thermometer."""
    choose(bench.job(soaking_job), thermometer, bench.by)
    bench.record(soaking_job, "soak_started")
    return bench.traveller(soaking_job).record.soak_run.started_at


def test_each_planned_time_is_read_once(started, soaking_job, reads, rounds):
    reads.append(41.0)
    rounds(started, 0, 1, 2, 9, 10, 11, 30, 31, 60)
    assert [value for value, _, _ in readings(soaking_job)] == [41.0] * 4
    _, unit, source = readings(soaking_job)[0]
    assert unit == "C"
    assert source == "Bench thermometer, ± 1\u00a0°C, by itself"
    assert gaps(soaking_job) == []


def test_the_plan_is_that_of_the_soak_and_its_verdict_counts_them(
    started, soaking_job, bench, reads, rounds
):
    reads.append(41.0)
    rounds(started, 0, 10, 30, 60, 120, 180, 240)
    traveller = bench.traveller(soaking_job)
    run = soaking.soak_of(traveller.record, traveller.checklist)
    assert [reading.minutes for reading in run.readings] == pytest.approx(
        [0, 10, 30, 60, 120, 180, 240], abs=0.1
    )
    assert not any("sink" in doubt for doubt in run.verdict.doubts)


def test_a_try_in_vain_is_made_again_while_there_is_time(started, soaking_job, reads, rounds):
    reads += ["It did not answer in time.", "It shows overload.", 40.0]
    rounds(started, 0, 1, 2, 3)
    assert [value for value, _, _ in readings(soaking_job)] == [40.0]
    assert gaps(soaking_job) == []


def test_a_gap_is_told_with_its_reason_and_never_filled_in(started, soaking_job, reads, rounds):
    reads.append("It stopped answering. Look at its cable.")
    rounds(started, 0, 3, 6, 7)
    assert readings(soaking_job) == []
    [said] = gaps(soaking_job)
    assert said.startswith("Soak: no ")
    assert " at 0 min from Bench thermometer. It stopped answering." in said


def test_a_worker_that_slept_tells_all_it_left_out_at_once(started, soaking_job, reads, rounds):
    reads.append(40.0)
    rounds(started, 0, 181)
    [said] = gaps(soaking_job)
    assert " at 10, 30, 60, 120 min " in said
    assert "The worker did not run then." in said
    assert len(readings(soaking_job)) == 2


def test_what_a_person_read_in_its_place_is_no_gap(started, soaking_job, bench, reads, rounds):
    reads.append("It did not answer in time.")
    rounds(started, 0)
    with time_machine.travel(started + timedelta(minutes=4), tick=False):
        bench.record(soaking_job, "soak_reading", quantity=SINK, value=39, unit="C")
    rounds(started, 6)
    assert gaps(soaking_job) == []


def test_two_workers_write_one_reading(started, soaking_job, reads, rounds, monkeypatch):
    """The second one reads the log before the first has gone on."""
    reads.append(40.0)
    with time_machine.travel(started, tick=False):
        stale = list(SoakLog.objects.select_related("job__unit", "instrument__connection", "by"))
        soak_logs.log_soaks(now=timezone.now())
        for one in stale:
            soak_logs._follow(one, timezone.now())
    assert len(readings(soaking_job)) == 1


def test_chosen_in_the_midst_it_begins_with_the_next(
    bench, soaking_job, thermometer, reads, rounds
):
    bench.record(soaking_job, "soak_started")
    began = bench.traveller(soaking_job).record.soak_run.started_at
    choose(bench.job(soaking_job), thermometer, bench.by, at=began + timedelta(minutes=45))
    reads.append(40.0)
    rounds(began, 46, 60)
    assert len(readings(soaking_job)) == 1
    assert gaps(soaking_job) == []


def test_when_the_soak_is_over_the_instrument_is_free(
    started, soaking_job, bench, thermometer, reads, rounds
):
    reads.append(40.0)
    rounds(started, 0)
    assert Claim.objects.get().job_id == soaking_job
    bench.record(soaking_job, "soak_ended", result="fail")
    rounds(started, 1)
    assert not SoakLog.objects.exists()
    assert not Claim.objects.exists()


def test_its_claim_lasts_as_long_as_the_soak(
    started, soaking_job, bench, thermometer, reads, rounds
):
    other = bench.job(bench.receive(facts=amplifier()))
    reads.append(40.0)
    rounds(started, *range(0, 100, 10))
    with time_machine.travel(started + timedelta(minutes=100), tick=False), pytest.raises(Refused):
        claims.take(thermometer, other, by=bench.by, at=timezone.now())


def test_one_that_another_job_has_is_not_chosen(bench, soaking_job, thermometer):
    other = bench.job(bench.receive(facts=amplifier()))
    claims.take(thermometer, other, by=bench.by, at=timezone.now())
    with pytest.raises(Refused, match="is at job"):
        choose(bench.job(soaking_job), thermometer, bench.by)
    assert not SoakLog.objects.exists()


@pytest.mark.parametrize("chosen", [{"trips": 1}, {SINK: 4711}, {SINK: "x"}, {SINK: None, "": 1}])
def test_what_cannot_log_is_told(bench, soaking_job, thermometer, chosen):
    with pytest.raises(BadInput):
        soak_logs.choose(bench.job(soaking_job), chosen, by=bench.by, at=timezone.now())


def test_who_may_not_record_may_not_choose(people, bench, soaking_job, thermometer):
    with pytest.raises(Forbidden):
        choose(bench.job(soaking_job), thermometer, people.viewer)


@pytest.mark.process
def test_over_a_real_socket(bench, soaking_job, connected):
    with meter(**{"MEAS:TEMP?": ["41.0", "41.5 CEL"]}) as device:
        made = connected("Bench thermometer", device.resource, WARM)
        choose(bench.job(soaking_job), made, bench.by)
        bench.record(soaking_job, "soak_started")
        soak_logs.log_soaks(now=timezone.now())
    assert [value for value, _, _ in readings(soaking_job)] == [41.5]


class TestThePage:
    def page(self, client, number):
        return client.get(reverse("soak", args=[number])).content.decode()

    def test_it_is_offered_where_an_instrument_is_connected(self, client, people, soaking_job):
        client.force_login(people.technician)
        assert "Logged by itself" not in self.page(client, soaking_job)

    def test_it_is_chosen_and_taken_back(self, client, people, soaking_job, thermometer):
        client.force_login(people.technician)
        assert "Logged by itself" in self.page(client, soaking_job)
        where = reverse("soak-log", args=[soaking_job])
        assert client.post(where, {f"log-{SINK}": thermometer.pk}).status_code == 302
        assert f'value="{thermometer.pk}" selected' in self.page(client, soaking_job)
        client.post(where, {f"log-{SINK}": ""})
        assert not SoakLog.objects.exists()

    def test_a_refusal_is_said_on_the_page(self, client, people, bench, soaking_job, thermometer):
        other = bench.job(bench.receive(facts=amplifier()))
        claims.take(thermometer, other, by=bench.by, at=timezone.now())
        client.force_login(people.technician)
        answer = client.post(
            reverse("soak-log", args=[soaking_job]), {f"log-{SINK}": thermometer.pk}
        )
        assert answer.status_code == 409
        assert f"is at job {other.number}" in answer.content.decode()

    @pytest.mark.parametrize("typed", ["x", "4711", "1" * 40])
    def test_what_is_no_instrument_is_told(self, client, people, soaking_job, thermometer, typed):
        client.force_login(people.technician)
        answer = client.post(reverse("soak-log", args=[soaking_job]), {f"log-{SINK}": typed})
        assert answer.status_code == 422

    def test_an_instrument_at_a_browser_is_neither_offered_nor_taken(
        self, client, people, soaking_job, thermometer
    ):
        Connection.objects.update(resource="BROWSER")
        client.force_login(people.technician)
        assert "Logged by itself" not in self.page(client, soaking_job)
        typed = {f"log-{SINK}": thermometer.pk}
        assert client.post(reverse("soak-log", args=[soaking_job]), typed).status_code == 422
        assert not SoakLog.objects.exists()


class TestTheCard:
    """The start of a soak offers the instrument that reads it."""

    OFFER = "Start it, read by Bench thermometer"

    def card(self, client, number):
        return client.get(reverse("job", args=[number])).content.decode()

    def start(self, client, number, log):
        return client.post(reverse("soak-start", args=[number]), {"log": log})

    @pytest.fixture
    def hands(self, client, people):
        client.force_login(people.technician)
        return client

    def test_by_one_tap_it_moves_starts_and_is_read_by_itself(
        self, hands, bench, soaking_job, thermometer
    ):
        assert self.OFFER in self.card(hands, soaking_job)
        assert self.start(hands, soaking_job, thermometer.pk).status_code == 302
        assert queries.record_of(bench.job(soaking_job)).soak == "running"
        assert SoakLog.objects.get().instrument == thermometer
        shown = self.card(hands, soaking_job)
        assert "Bench thermometer reads it by itself, within a minute." in shown
        assert 'name="value"' not in shown

    def test_it_is_not_offered_without_an_instrument_nor_for_one_at_a_browser(
        self, hands, soaking_job, connected
    ):
        assert "Start the soak" in self.card(hands, soaking_job)
        assert "read by" not in self.card(hands, soaking_job)
        connected("Bench thermometer", "BROWSER", WARM)
        assert self.OFFER not in self.card(hands, soaking_job)

    def test_a_person_reads_where_it_is_in_trouble_or_late(
        self, hands, soaking_job, thermometer, bench
    ):
        self.start(hands, soaking_job, thermometer.pk)
        SoakLog.objects.update(why="It did not answer.")
        assert 'name="value"' in self.card(hands, soaking_job)
        SoakLog.objects.update(why="")
        with time_machine.travel(timezone.now() + timedelta(minutes=6)):
            assert 'name="value"' in self.card(hands, soaking_job)

    def test_one_that_hangs_in_another_unit_starts_nothing(
        self, hands, bench, soaking_job, thermometer
    ):
        other = bench.job(bench.receive(facts=amplifier()))
        claims.take(thermometer, other, by=bench.by, at=timezone.now())
        answer = self.start(hands, soaking_job, thermometer.pk)
        assert answer.status_code == 409
        assert f"is at job {other.number}" in answer.content.decode()
        assert queries.record_of(bench.job(soaking_job)).soak != "running"

    @pytest.mark.parametrize("log", ["", "x", "4711"])
    def test_what_is_no_instrument_starts_nothing(
        self, hands, bench, soaking_job, thermometer, log
    ):
        assert self.start(hands, soaking_job, log).status_code == 422
        assert queries.record_of(bench.job(soaking_job)).soak != "running"

    def test_nothing_starts_before_it_may(self, hands, bench, thermometer):
        number = bench.receive(facts=amplifier())
        assert self.start(hands, number, thermometer.pk).status_code == 409
        assert not SoakLog.objects.exists()
        assert bench.job(number).stage == "received"
