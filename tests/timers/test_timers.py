"""Clocks of jobs: they run on the server, remind, and change nothing of the job."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from shop.jobs.models import Job, LedgerRow
from shop.lib.refusals import BadInput, Forbidden, Refused
from shop.timers import queries, services
from shop.timers.models import Timer
from tests.helpers import amplifier, flat

pytestmark = pytest.mark.django_db


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


@pytest.fixture
def job(bench):
    return Job.objects.get(pk=bench.receive(facts=amplifier()))


@pytest.fixture
def other(bench):
    return Job.objects.get(pk=bench.receive(make="Ravelund", facts=amplifier()))


def start(job, people, kind=Timer.TRIAL, minutes=10.0, ago=0.0, by=None):
    at = timezone.now() - timedelta(minutes=ago)
    return services.start(job.number, kind, minutes, by=by or people.technician, at=at)


class TestRunning:
    def test_it_counts_down_and_stays_when_its_time_is_up(self, job, people):
        start(job, people, minutes=10, ago=4)
        [clock] = queries.clocks(timezone.now(), job)
        assert (clock.over, clock.shown[:2]) == (False, "5:")
        [clock] = queries.clocks(timezone.now() + timedelta(hours=2), job)
        assert clock.over
        assert clock.shown.startswith("+1:5")

    def test_two_jobs_have_their_own_and_home_shows_both(self, hands, job, other, people):
        start(job, people, minutes=30)
        start(other, people, minutes=5)
        assert len(queries.clocks(timezone.now(), job)) == 1
        shown = [clock.job for clock in queries.clocks(timezone.now())]
        assert shown == [other, job]
        home = flat(hands.get("/").content.decode())
        for one in (job, other):
            assert f'<a href="/jobs/{one.number}/">{one.number}</a> trial' in home

    def test_one_of_a_kind_runs_and_a_new_one_takes_its_place(self, job, people):
        first = start(job, people, minutes=30)
        start(job, people, minutes=5)
        start(job, people, kind=Timer.WARM_UP)
        first.refresh_from_db()
        assert first.stopped_at is not None
        kinds = {clock.title for clock in queries.clocks(timezone.now(), job)}
        assert kinds == {"trial", "warm-up"}

    def test_a_closed_job_starts_none_and_shows_none(self, bench, job, people):
        start(job, people)
        bench.pass_gate(job.number, "hand-back")
        bench.stage(job.number, "withdrawn")
        assert queries.clocks(timezone.now()) == []
        with pytest.raises(Refused, match="closed"):
            start(job, people)

    @pytest.mark.parametrize("minutes", [0, -1, 1441, None, float("nan")])
    def test_a_length_that_cannot_be_is_refused(self, job, people, minutes):
        with pytest.raises(BadInput, match="minutes"):
            start(job, people, minutes=minutes)

    def test_an_unknown_kind_is_refused(self, job, people):
        with pytest.raises(BadInput, match="kind"):
            start(job, people, kind="egg")

    @pytest.mark.parametrize("role", ["viewer", "desk", "nobody"])
    def test_it_takes_hands_of_the_bench(self, client, job, people, role):
        person = people.named(role)
        with pytest.raises(Forbidden):
            start(job, people, by=person)
        timer = start(job, people)
        client.force_login(person)
        assert client.post(reverse("timer-stop", args=[timer.pk])).status_code == 403
        assert client.post(reverse("timer-start", args=[job.number])).status_code == 403

    def test_nothing_of_the_job_changes(self, hands, job, people):
        before = Job.objects.values().get(pk=job.pk), LedgerRow.objects.count()
        data = {"kind": "discharge", "minutes": "5"}
        hands.post(reverse("timer-start", args=[job.number]), data)
        hands.post(reverse("timer-stop", args=[Timer.objects.get().pk]))
        assert (Job.objects.values().get(pk=job.pk), LedgerRow.objects.count()) == before


class TestOnThePage:
    def test_it_is_started_and_stopped_from_the_card(self, hands, job):
        page = f"/jobs/{job.number}/"
        data = {"kind": "warm-up", "minutes": "1,5"}
        answer = hands.post(
            reverse("timer-start", args=[job.number]), data, headers={"Referer": page}
        )
        assert answer["Location"] == page
        assert Timer.objects.get().minutes == 1.5
        assert 'role="timer"' in hands.get(page).content.decode()
        hands.post(reverse("timer-stop", args=[Timer.objects.get().pk]))
        assert 'role="timer"' not in hands.get(page).content.decode()

    def test_what_is_wrong_is_said(self, hands, job):
        data = {"kind": "trial", "minutes": "soon"}
        answer = hands.post(reverse("timer-start", args=[job.number]), data, follow=True)
        assert "minutes: " in answer.content.decode()
        assert not Timer.objects.exists()

    def test_a_soak_has_its_clock_by_the_ledger(self, hands, bench, job):
        bench.soak(job.number)
        bench.record(job.number, "soak_started")
        page = flat(hands.get(f"/jobs/{job.number}/").content.decode())
        assert "soak, next reading" in page
        assert not Timer.objects.exists()

    def test_an_open_page_asks_for_its_clocks_and_is_answered_when_they_changed(
        self, hands, job, people
    ):
        def asked():
            page = hands.get(f"/jobs/{job.number}/").content.decode()
            return re.search(r'hx-get="(/jobs/\d+/clocks/\?mark=\w+)"', page)[1]

        path = asked()
        assert hands.get(path).status_code == 204
        timer = start(job, people)
        changed = hands.get(path)
        assert (changed.status_code, "trial" in changed.content.decode()) == (200, True)
        path = asked()
        assert hands.get(path).status_code == 204
        services.stop(timer, by=people.technician, at=timezone.now())
        gone = hands.get(path)
        assert gone.status_code == 200
        assert "data-seconds" not in gone.content.decode()
        assert path.split("?")[0] in gone.content.decode()

    def test_a_clock_that_is_not_there_is_404(self, hands):
        assert hands.post(reverse("timer-stop", args=[4711])).status_code == 404


class TestLabour:
    def labour(self, job, people, ago, by=None):
        return start(job, people, kind=Timer.LABOUR, minutes=None, ago=ago, by=by)

    def test_a_person_has_one_and_starting_elsewhere_stops_it(self, job, other, people):
        first = self.labour(job, people, ago=50)
        self.labour(other, people, ago=20)
        self.labour(other, people, ago=10, by=people.owner)
        first.refresh_from_db()
        assert first.stopped_at is not None
        now = timezone.now()
        assert queries.labour_minutes(job, people.technician, now) == 30
        assert queries.labour_minutes(other, people.technician, now) == 20
        assert queries.labour_minutes(other, people.owner, now) == 10

    def test_the_database_holds_it_to_one(self, job, other, people):
        self.labour(job, people, ago=5)
        with pytest.raises(IntegrityError), transaction.atomic():
            Timer.objects.create(
                job=other, kind=Timer.LABOUR, started_at=timezone.now(), by=people.technician
            )

    def test_its_minutes_stand_in_the_form_of_work_and_count_from_there(
        self, hands, bench, job, people
    ):
        self.labour(job, people, ago=25)
        form = hands.get(f"/jobs/{job.number}/write/?what=work_done").content.decode()
        assert 'name="minutes" value="25"' in form
        bench.record_late(job.number, "work_done", work="joints-reflowed", minutes=25)
        assert queries.labour_minutes(job, people.technician, timezone.now()) is None
        later = timezone.now() + timedelta(minutes=7)
        assert queries.labour_minutes(job, people.technician, later) == 7

    def test_a_forgotten_one_asks_and_offers_nothing(self, hands, job, people):
        self.labour(job, people, ago=5 * 60)
        assert "Was all of it work?" in hands.get(f"/jobs/{job.number}/").content.decode()
        assert queries.labour_minutes(job, people.technician, timezone.now()) is None

    def test_nobody_stops_that_of_somebody_else(self, client, job, people):
        timer = self.labour(job, people, ago=5)
        client.force_login(people.owner)
        answer = client.post(reverse("timer-stop", args=[timer.pk]), follow=True)
        assert "It is the clock of technician." in answer.content.decode()
        timer.refresh_from_db()
        assert timer.stopped_at is None
