"""Trials and soak: what the record says, and what it keeps from being signed."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.utils import timezone

from shop.jobs import commands, soaking
from shop.jobs.models import Job
from shop.jobs.trials import trials_of
from shop.lib.refusals import BadInput, Refused
from tests.helpers import amplifier, flat

pytestmark = pytest.mark.django_db


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


def tried(bench, number, *outcomes, **more):
    for fault in outcomes:
        bench.record(number, "trial_run", fault=fault, **more)


@pytest.fixture
def clock():
    """A clock that stands still but for what a test lets pass."""
    with time_machine.travel(datetime(2031, 3, 4, 9, 0, tzinfo=UTC), tick=False) as found:
        yield found


def tried_under_mains(bench, clock, number, *numbers, seconds=60):
    """Let mains be on, and write down runs of clean trials so many seconds apart."""
    bench.limited(number)
    for trials in numbers or [0]:
        clock.shift(timedelta(seconds=seconds))
        if trials:
            bench.record(number, "trial_run", fault=False, trials=trials)


def here_since(number, **ago):
    """Let the unit have come in so long ago."""
    Job.objects.filter(pk=number).update(received_at=timezone.now() - timedelta(**ago))


class TestTrials:
    def test_rate_conditions_and_proof_come_from_their_own_side_of_the_work(self, clock, bench):
        number = bench.receive(facts=amplifier(complaint__intermittent=True))
        tried(bench, number, True, True, True, True, True, conditions=["warm"])
        tried(bench, number, False, False, False, False, False, conditions=["cold"])
        bench.record_late(number, "work_done", work="joints-reflowed")
        tried_under_mains(bench, clock, number, *[1] * 10)
        found = trials_of(bench.traveller(number).record)

        assert found.rate.rate == 0.5
        assert found.conditions.ranked[0].adjusted == pytest.approx(2 * 2 / 252)
        assert found.proof.verdict == "proved"
        assert (found.clean, found.left) == (10, found.needed - 10)

    def test_the_proof_goes_with_the_unit_when_it_is_released(self, clock, bench):
        number = bench.receive(facts=amplifier())
        tried(bench, number, True, True, True, True, True)
        bench.open_up(number)
        bench.record(number, "work_done", work="controls-cleaned")
        bench.to_soak(number)
        bench.run_soak(number)
        tried_under_mains(bench, clock, number, *[1] * 6)
        bench.leave_gates(number)
        bench.stage(number, "released")
        [row] = bench.traveller(number).record.of_type("released")
        assert row.data["proved"] == "proved"
        assert row.data["proof"].startswith("5 of 5 before, 0 of 6 after")
        assert row.data["clean_trials"] == 6

    def test_a_long_pause_counts_as_a_condition(self, bench):
        number = bench.receive()
        tried(bench, number, True, off_minutes=45)
        tried(bench, number, False, off_minutes=5)
        [one] = trials_of(bench.traveller(number).record).conditions.ranked
        assert (one.condition, one.faults_with, one.trials_with) == (
            "off-half-an-hour-or-more",
            1,
            1,
        )

    def test_trials_that_are_not_on_record_cannot_be_signed_for(self, clock, bench):
        number = bench.receive(facts=amplifier(complaint__intermittent=True))
        tried(bench, number, True, True, False)
        bench.record_late(number, "work_done", work="joints-reflowed")
        needed = bench.traveller(number).record.clean_trials_needed
        tried_under_mains(bench, clock, number, needed - 1, seconds=10 * needed)
        claimed = [("clean_trials", needed)]
        with pytest.raises(Refused, match=rf"{needed - 1} trials without the fault are on record"):
            bench.sign(number, "clean-trials", readings=claimed)
        tried(bench, number, False)
        assert bench.sign(number, "clean-trials", readings=claimed).state == "signed"

    def test_trials_are_no_figure_to_be_typed(self, bench):
        number = bench.receive(facts=amplifier(complaint__intermittent=True))
        with pytest.raises(Refused, match="clean_trials is 29; 0 trials without the fault"):
            bench.sign(number, "clean-trials", readings=[("clean_trials", 29)])

    def test_fewer_than_needed_is_a_fail_as_ever(self, bench):
        number = bench.receive(facts=amplifier(complaint__intermittent=True))
        tried(bench, number, True, False)
        bench.record_late(number, "work_done", work="joints-reflowed")
        tried(bench, number, False)
        assert bench.sign(number, "clean-trials", readings=[("clean_trials", 1)]).state == "failed"

    def test_the_page_counts_down_and_warns_of_many_comparisons(self, hands, bench):
        number = bench.receive(facts=amplifier(complaint__intermittent=True))
        empty = hands.get(f"/jobs/{number}/trials/").content.decode()
        assert "No trial is on record" in empty
        tried(bench, number, True, conditions=["warm", "loud"])
        tried(bench, number, False, conditions=["cold"])
        page = hands.get(f"/jobs/{number}/trials/").content.decode()
        needed = bench.traveller(number).record.clean_trials_needed
        assert f"<b>1</b> of {needed} clean" in page
        assert "3 conditions were compared" in page
        assert "<svg" in page

    def test_a_trial_is_recorded_from_its_page_and_comes_back_to_it(self, hands, bench):
        number = bench.receive()
        answer = hands.post(
            f"/jobs/{number}/record/trial_run/",
            {"fault": "yes", "conditions": ["knocked"], "off_minutes": "12.5", "next": "trials"},
        )
        assert answer["Location"] == f"/jobs/{number}/trials/"
        [row] = bench.traveller(number).record.of_type("trial_run")
        assert row.data == {
            "fault": True,
            "conditions": ["knocked"],
            "off_minutes": 12.5,
            "note": "",
        }


class TestTimeForTrials:
    @pytest.fixture
    def mended(self, bench):
        number = bench.receive(facts=amplifier(complaint__intermittent=True))
        tried(bench, number, True, True, False)
        bench.record_late(number, "work_done", work="joints-reflowed")
        return number

    @pytest.fixture
    def needed(self, bench, mended):
        return bench.traveller(mended).record.clean_trials_needed

    def left(self, bench, number):
        here = bench.traveller(number)
        return max(0, here.record.clean_trials_needed - here.record.clean_trials_counted)

    def test_a_number_that_was_only_typed_proves_nothing(self, clock, bench, mended, needed):
        tried_under_mains(bench, clock, mended, needed, seconds=20)
        assert self.left(bench, mended) == needed - 3
        with pytest.raises(Refused, match=f"clean_trials is {needed}; 3 of them count"):
            bench.sign(mended, "clean-trials", readings=[("clean_trials", needed)])

    def test_a_button_pressed_many_times_proves_nothing(self, clock, bench, mended, needed):
        tried_under_mains(bench, clock, mended, *[1] * needed, seconds=1)
        assert self.left(bench, mended) >= needed - 1 - needed // 10
        with pytest.raises(Refused, match="a try takes 10 seconds or more"):
            bench.sign(mended, "clean-trials", readings=[("clean_trials", needed)])

    def test_waiting_afterwards_makes_no_trial(self, clock, bench, mended, needed):
        tried_under_mains(bench, clock, mended, needed, seconds=20)
        before = self.left(bench, mended)
        bench.record(mended, "note_added", text="an hour later")
        assert self.left(bench, mended) == before

    def test_who_tries_on_and_says_so_has_proved_it(self, clock, bench, mended, needed):
        tried_under_mains(bench, clock, mended, needed, 1, seconds=10 * needed)
        assert self.left(bench, mended) == 0
        assert bench.sign(mended, "clean-trials", readings=[]).state == "signed"

    def test_time_without_mains_is_no_time_of_trials(self, clock, bench, mended, needed):
        tried_under_mains(bench, clock, mended, 1, seconds=3600)
        bench.power(mended, "isolated")
        bench.record(mended, "trial_run", fault=True)
        tried(bench, mended, *[False] * needed)
        assert bench.traveller(mended).record.clean_trials_run == needed
        assert bench.traveller(mended).record.clean_trials_counted == 1

    def test_mains_before_the_work_is_no_time_of_trials(self, clock, bench, mended, needed):
        tried_under_mains(bench, clock, mended, 1, seconds=3600)
        bench.record_late(mended, "work_done", work="joints-reflowed")
        tried(bench, mended, *[False] * needed)
        assert bench.traveller(mended).record.clean_trials_counted == 1

    def test_the_page_says_how_many_count(self, clock, hands, bench, mended, needed):
        tried_under_mains(bench, clock, mended, 1, seconds=60)
        data = {"fault": "no", "trials": "30", "next": "trials"}
        page = hands.post(f"/jobs/{mended}/record/trial_run/", data, follow=True)
        said = "Clean trials: 7 of {0}. 31 are told; mains was on only long enough for 7."
        assert said.format(needed) in flat(page.content.decode())


class TestASeriesOfTrials:
    @pytest.fixture
    def mended(self, bench):
        number = bench.receive(facts=amplifier(complaint__intermittent=True))
        tried(bench, number, True, True, False, conditions=["warm"])
        bench.record_late(number, "work_done", work="joints-reflowed")
        return number

    def clean(self, hands, number, trials="", **more):
        data = {"fault": "no", "trials": trials, "next": "trials", **more}
        return hands.post(f"/jobs/{number}/record/trial_run/", data)

    def test_a_run_in_one_go_gives_the_numbers_of_as_many_rows(self, bench):
        one_by_one, at_once = (bench.receive(facts=amplifier()) for _ in range(2))
        for number in (one_by_one, at_once):
            here_since(number, hours=1)
            tried(bench, number, True, True, False, conditions=["warm"], on_minutes=12)
        tried(bench, one_by_one, *[False] * 7, conditions=["cold"])
        bench.record(at_once, "trial_run", fault=False, trials=7, conditions=["cold"])
        for number in (one_by_one, at_once):
            bench.record_late(number, "work_done", work="joints-reflowed")
        tried(bench, one_by_one, *[False] * 9)
        bench.record(at_once, "trial_run", fault=False, trials=9)
        first, second = (
            trials_of(bench.traveller(number).record) for number in (one_by_one, at_once)
        )

        assert (second.rate, second.conditions) == (first.rate, first.conditions)
        assert (second.needed, second.clean, second.proof) == (
            first.needed,
            first.clean,
            first.proof,
        )

    def test_a_tap_adds_one_and_a_number_as_many(self, clock, hands, bench, mended):
        tried_under_mains(bench, clock, mended, seconds=600)
        self.clean(hands, mended)
        self.clean(hands, mended, "12")
        record = bench.traveller(mended).record
        assert record.clean_trials_run == 13
        assert [row.data.get("trials") for row in record.of_type("trial_run")[-2:]] == [None, 12]
        page = flat(hands.get(f"/jobs/{mended}/trials/").content.decode())
        assert f"Clean trials: 13 of {record.clean_trials_needed}." in page
        assert "<b>12 clean</b>" in page

    def test_the_conditions_of_the_last_one_are_carried_and_its_minutes_are_not(
        self, hands, bench, mended
    ):
        here_since(mended, hours=1)
        bench.record(mended, "trial_run", fault=False, conditions=["knocked"], on_minutes=25)
        page = flat(hands.get(f"/jobs/{mended}/trials/").content.decode())
        assert "Conditions: knocked" in page
        assert "checked" in page.split('value="knocked"')[1].split(">")[0]
        assert 'value="25' not in page

    def test_minutes_that_the_unit_was_not_here_for_are_not_on_record(self, hands, bench, mended):
        here_since(mended, minutes=100)
        bench.record(mended, "trial_run", fault=False, trials=2, on_minutes=30)
        refused = self.clean(hands, mended, "2", on_minutes="30")
        assert refused.status_code == 422
        assert "would have run for 120 minutes" in refused.content.decode()
        assert bench.traveller(mended).record.clean_trials_run == 2
        self.clean(hands, mended, "1", on_minutes="40")
        # Off it may have been before it came.
        self.clean(hands, mended, "1", off_minutes="600")
        assert bench.traveller(mended).record.clean_trials_run == 4

    def test_a_fault_ends_the_series_and_is_never_one_of_many(self, hands, bench, mended):
        self.clean(hands, mended, "5")
        refused = self.clean(hands, mended, "3", fault="yes")
        assert refused.status_code == 422
        assert "written down alone" in refused.content.decode()
        assert bench.traveller(mended).record.clean_trials_run == 5
        self.clean(hands, mended, fault="yes")
        assert bench.traveller(mended).record.clean_trials_run == 0

    @pytest.mark.parametrize("trials", ["0", "201", "-3", "two"])
    def test_a_number_that_cannot_be_is_refused_on_the_page_it_came_from(
        self, hands, bench, mended, trials
    ):
        answer = self.clean(hands, mended, trials)
        assert answer.status_code == 422
        assert "trials-title" in answer.content.decode()
        assert bench.traveller(mended).record.clean_trials_run == 0

    def test_a_withdrawn_run_counts_no_more(self, bench, mended):
        row = bench.record(mended, "trial_run", fault=False, trials=40)
        bench.record(mended, "entry_withdrawn", row=row.sequence, reason="wrong unit")
        assert bench.traveller(mended).record.clean_trials_run == 0

    def test_what_is_on_record_stands_in_the_field_of_the_step(self, clock, hands, bench, mended):
        tried_under_mains(bench, clock, mended, 6)
        page = hands.get(f"/jobs/{mended}/step/clean-trials/").content.decode()
        assert 'name="reading-clean_trials" value="6"' in page

    def test_a_list_without_the_step_asks_for_no_trials(self, hands, bench):
        number = bench.receive(facts=amplifier(complaint__intermittent=False))
        tried(bench, number, True)
        page = flat(hands.get(f"/jobs/{number}/trials/").content.decode())
        assert "before it may go" not in page
        assert (
            "0 without the fault since the last work or fault. The list asks for no more." in page
        )

    def test_htmx_is_given_the_part_of_the_page_it_came_from(self, hands, mended):
        answer = hands.post(
            f"/jobs/{mended}/record/trial_run/",
            {"fault": "no", "next": "trials"},
            headers={"HX-Request": "true"},
            follow=True,
        )
        assert answer.redirect_chain
        assert "Clean trials: 1 of" in answer.content.decode()


@pytest.fixture
def soaking_job(bench):
    number = bench.receive(facts=amplifier())
    bench.soak(number)
    return number


class TestSoak:
    def run(self, bench, number, *readings, start=None, quantity="sink_celsius"):
        """A soak whose readings come every half hour."""
        at = start or timezone.now() - timedelta(hours=5)
        commands.record(number, "soak_started", {}, by=bench.by, at=at)
        for place, value in enumerate(readings):
            data = {"quantity": quantity, "value": value}
            later = at + timedelta(minutes=30 * place)
            commands.record(number, "soak_reading", data, by=bench.by, at=later)

    def found(self, bench, number):
        here = bench.traveller(number)
        return soaking.soak_of(here.record, here.checklist)

    def test_the_plan_follows_the_rules_of_the_unit(self, bench):
        plain = bench.traveller(bench.receive(facts=amplifier()))
        now_and_then = bench.traveller(bench.receive(facts=amplifier(complaint__intermittent=True)))
        assert soaking.plan_for(plain.checklist).hours == 4
        assert soaking.plan_for(now_and_then.checklist).hours == 8

    def test_limits_come_from_the_steps(self, bench):
        limits = soaking.limits_for(bench.traveller(bench.receive(facts=amplifier())).checklist)
        assert limits["sink_celsius"].high == 80
        assert (limits["offset_millivolts"].low, limits["offset_millivolts"].high) == (-50, 50)

    def test_a_hot_soak_cannot_end_as_passed_nor_be_signed(self, bench, soaking_job):
        self.run(bench, soaking_job, 22, 60, 82)
        row = bench.record(soaking_job, "soak_ended", result="pass")
        assert (row.data["result"], row.data["asked"]) == ("fail", "pass")
        assert "sink celsius was 82 after 60 min; at most 80 holds." in row.data["reasons"]
        with pytest.raises(Refused, match="The soak failed by its readings"):
            bench.sign(soaking_job, "soak-run")
        assert bench.sign(soaking_job, "soak-run", "fail", readings=[]).state == "failed"
        bench.power(soaking_job, "isolated")
        with pytest.raises(Refused, match="The soak has not passed"):
            bench.stage(soaking_job, "released")

    def test_a_trip_fails_it_whatever_people_call_it(self, bench, soaking_job):
        self.run(bench, soaking_job, 0, 1, quantity="Trip")
        assert bench.record(soaking_job, "soak_ended", result="pass").data["result"] == "fail"

    @pytest.mark.parametrize(
        ("quantity", "unit", "taken"),
        [
            ("offset", "V", False),
            ("offset", "mV", True),
            ("sink", "\u00b0C", True),
            ("sink", "F", False),
        ],
    )
    def test_a_limit_is_judged_in_its_own_unit(self, bench, soaking_job, quantity, unit, taken):
        bench.record(soaking_job, "soak_started")
        reading = {"quantity": quantity, "value": 0.2, "unit": unit}
        if taken:
            assert bench.record(soaking_job, "soak_reading", **reading)
            return
        with pytest.raises(BadInput, match=f"unit is {unit}"):
            bench.record(soaking_job, "soak_reading", **reading)

    def test_a_calm_one_passes(self, bench, soaking_job):
        self.run(bench, soaking_job, 22, 44, 53, 57, 58.5, 59, 59.2, 59.3, 59.3)
        verdict = self.found(bench, soaking_job).verdict
        assert not verdict.failed
        assert verdict.doubts[0].startswith("Sink temperature was not read at 10 min")
        assert bench.record(soaking_job, "soak_ended", result="pass").data["result"] == "pass"
        assert bench.sign(soaking_job, "soak-run").state == "signed"

    def test_a_new_soak_starts_from_nothing(self, bench, soaking_job):
        self.run(bench, soaking_job, 22, 82)
        bench.record(soaking_job, "soak_ended")
        self.run(bench, soaking_job, 21, 40)
        assert [r.value for r in self.found(bench, soaking_job).readings] == [21, 40]

    def test_the_next_reading_is_told_and_a_missed_one_is_late(self, bench, soaking_job):
        start = timezone.now() - timedelta(minutes=20)
        self.run(bench, soaking_job, 22, start=start)
        run = self.found(bench, soaking_job)
        assert run.next_due(timezone.now()) == start + timedelta(minutes=10)

    def test_the_page_shows_chart_limit_and_sentence(self, hands, bench, soaking_job):
        self.run(bench, soaking_job, 22, 44, 53, 57, 58.5, 59)
        page = hands.get(f"/jobs/{soaking_job}/soak/").content.decode()
        assert "It has settled at 60" in page
        assert "limit 80" in page
        assert "c-band" in page
        assert "<script" not in page.split("<main", 1)[1]

    def test_the_fragment_is_the_part_that_changes(self, hands, soaking_job):
        answer = hands.get(f"/jobs/{soaking_job}/soak/", headers={"HX-Request": "true"})
        assert "<html" not in answer.content.decode()

    @pytest.mark.parametrize("count", [0, 1, 3])
    def test_too_few_readings_still_make_a_page(self, hands, bench, soaking_job, count):
        self.run(bench, soaking_job, *[22, 30, 35][:count])
        assert hands.get(f"/jobs/{soaking_job}/soak/").status_code == 200
