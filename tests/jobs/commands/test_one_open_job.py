"""The state belongs to the unit: one open job, what earlier jobs left up, a unit that arrives open."""

from __future__ import annotations

import pytest
from django.utils import timezone

from checklists.engine import exposures
from checklists.engine.words import HANDS, LIMITED
from shop.intake import services as intake_services
from shop.intake.services import IntakeDetails
from shop.jobs import commands, events, ledger, left_up
from shop.jobs.commands.units import AlreadyHere
from shop.jobs.models import Job, LedgerRow
from shop.lib.refusals import BadInput, Forbidden
from tests.helpers import Bench, amplifier

NAMED = {"make": "Corvenby", "model": "Spool 3", "serial": "K-1234"}
LEFT = "mains-wiring-wrong"


@pytest.fixture
def first(bench):
    return bench.receive(facts=amplifier(), **NAMED)


def keys_up(bench, number):
    return {one.hazard.key for one in bench.traveller(number).checklist.up}


def asked(bench, number, exposure):
    checklist = bench.traveller(number).checklist
    return {hindrance.step.key for hindrance in exposures.against(exposure, checklist)}


def withdrawn(bench, number):
    """Close a job whatever its unit still asks: what it left up is the point here."""
    now = timezone.now()
    Job.objects.filter(pk=number).update(stage="withdrawn", closed_at=now)


class TestOneOpenJob:
    def test_another_spelling_of_the_unit_is_refused_and_the_job_named(self, bench, first):
        with pytest.raises(AlreadyHere, match=f"here already: job {first} is open") as caught:
            bench.receive(make="corvenby", model="SPOOL 3", serial="k 1234")
        assert [one.code for one in caught.value.refusals] == ["already-here"]
        assert caught.value.number == first
        assert Job.objects.count() == 1

    def test_all_of_a_second_intake_is_written_to_the_open_job(self, bench, first):
        before = len(bench.kinds(first))
        facts = {"unit.year": 1999, "findings": ["belt-perished"], "work": ["fuse-replaced"]}
        typed = {"complaint": "Скрипит", "note": "from the brother", "facts": facts}
        assert bench.receive(join=True, **typed, **NAMED) == first
        assert bench.kinds(first)[before:] == [
            "complaint_recorded",
            "fact_recorded",
            "finding_recorded",
            "work_done",
            "note_added",
        ]
        assert bench.job(first).complaint == "Скрипит"
        rows = list(LedgerRow.objects.filter(job=first).order_by("sequence"))
        assert ledger.faults(rows, bench.job(first).head) == []

    def test_a_reference_goes_to_a_job_that_has_none_and_into_a_note_otherwise(self, bench, first):
        bench.receive(join=True, reference="R-1", **NAMED)
        assert bench.job(first).reference == "R-1"
        bench.receive(join=True, reference="R-1", **NAMED)
        bench.receive(join=True, reference="R-2", **NAMED)
        assert bench.job(first).reference == "R-1"
        said = [row.data["text"] for row in bench.job(first).ledger.filter(event_type="note_added")]
        assert said == ["Came in again under reference R-2."]

    def test_a_reference_that_is_taken_is_said_before_the_unit(self, bench):
        number = bench.receive(reference="R-1", **NAMED)
        with pytest.raises(BadInput, match=f"already job {number}"):
            bench.receive(reference="R-1", **NAMED)

    def test_the_viewer_joins_nothing(self, people, first):
        with pytest.raises(Forbidden):
            Bench(people.viewer).receive(join=True, **NAMED)

    def test_join_without_an_open_job_opens_one(self, bench, first):
        withdrawn(bench, first)
        again = bench.receive(join=True, **NAMED)
        assert again != first
        assert bench.job(again).unit_id == bench.job(first).unit_id

    def test_what_came_along_later_is_kept_and_the_customer_stays(self, people):
        def take(**details):
            given = {"by": people.desk, "at": timezone.now(), "join": True, **NAMED}
            return intake_services.receive(details=IntakeDetails(**details), **given)

        job = take(name="Ada", accessories="lead")
        take(name="Bo", came_by="parcel", accessories="remote")
        intake = Job.objects.get(pk=job.number).intake
        assert (intake.customer.name, intake.things) == ("Ada", ["lead", "remote"])
        said = LedgerRow.objects.filter(job=job.number, event_type="note_added").last()
        assert said.data["text"] == "Came by parcel. With it: remote."


class TestCarried:
    def test_work_that_nobody_checked_comes_back_up(self, bench, first):
        bench.open_up(first)
        bench.record(first, "work_done", work="mains-wiring-changed")
        withdrawn(bench, first)
        again = bench.receive(facts=amplifier(), **NAMED)
        assert LEFT in bench.job(again).ledger.first().data["carried"]
        assert LEFT in keys_up(bench, again)
        assert "mains-wiring" in asked(bench, again, LIMITED)

    def test_it_is_handed_on_through_a_job_that_did_nothing(self, bench, first):
        bench.record(first, "finding_recorded", finding="fuse-wrong")
        withdrawn(bench, first)
        second = bench.receive(facts=amplifier(), **NAMED)
        withdrawn(bench, second)
        third = bench.receive(facts=amplifier(), **NAMED)
        assert "wrong-fuse-found" in keys_up(bench, third)

    def test_what_was_cleared_is_not_up(self, bench, first):
        bench.record(first, "finding_recorded", finding="fuse-wrong")
        bench.pass_steps(first, "fuse-check", "right-fuse-fitted")
        withdrawn(bench, first)
        again = bench.receive(facts=amplifier(), **NAMED)
        assert "wrong-fuse-found" not in keys_up(bench, again)

    def test_what_only_the_bench_clears_stays_with_the_bench(self, bench, first):
        bench.limited(first)
        bench.power(first, "isolated")
        withdrawn(bench, first)
        again = bench.receive(facts=amplifier(), **NAMED)
        carried = bench.job(again).ledger.first().data["carried"]
        assert "dead-not-proved" in carried
        assert not {"no-limiter", "live-and-open", "runs-in-a-bad-place"} & set(carried)

    def test_a_unit_that_was_never_here_carries_nothing(self, bench, first):
        assert "carried" not in bench.job(first).ledger.first().data

    def test_jobs_of_older_releases_are_looked_at_one_after_the_other(self, bench, first):
        """Their rows do not say what was carried into them."""
        second = bench.receive(facts=amplifier(), **NAMED | {"serial": "K-2"})
        bench.record(first, "finding_recorded", finding="fuse-wrong")
        withdrawn(bench, first)
        Job.objects.filter(pk=second).update(
            unit=bench.job(first).unit_id, received_at=timezone.now()
        )
        withdrawn(bench, second)
        third = bench.receive(facts=amplifier(), **NAMED)
        assert "wrong-fuse-found" in keys_up(bench, third)

    def test_of_two_jobs_at_once_the_later_one_clears_nothing_of_the_other(self, bench, first):
        second = bench.receive(facts=amplifier(), **NAMED | {"serial": "K-2"})
        Job.objects.filter(pk=second).update(unit=bench.job(first).unit_id)
        withdrawn(bench, second)
        bench.record(first, "finding_recorded", finding="insulator-cracked")
        withdrawn(bench, first)
        third = bench.receive(facts=amplifier(), **NAMED)
        assert "insulator-cracked" in keys_up(bench, third)

    def test_a_key_that_the_rules_do_not_know_is_kept_and_handed_on(self, bench, first):
        row = bench.job(first).ledger.first()
        old = ledger.Row(
            sequence=1,
            event_type="received",
            at=row.at,
            by_name="bea",
            body='{"carried":["gone-from-the-rules"]}',
            hash="",
        )
        record = events.reduce(bench.job(first), [old])
        assert "gone-from-the-rules" in left_up.left_by(record)


class TestArrivedOpen:
    def test_the_cover_is_off_and_nothing_is_asked_for_it(self, bench):
        number = bench.receive(facts=amplifier(), arrived_open=True, **NAMED)
        assert bench.kinds(number)[:2] == ["received", "cover_removed"]
        assert bench.job(number).cover == "off"
        assert bench.traveller(number).checklist.opened

    def test_hands_are_asked_for_the_dead_test_all_the_same(self, bench):
        number = bench.receive(facts=amplifier(), arrived_open=True, **NAMED)
        assert "verify-dead" in asked(bench, number, HANDS)
        assert "shorts-before-power" in asked(bench, number, LIMITED)

    def test_it_arrives_closed_unless_somebody_says_so(self, first, bench):
        assert bench.job(first).cover == "on"

    def test_work_of_others_asks_nothing_and_raises_what_it_raises(self, bench):
        number = bench.receive(facts={"work": ["mains-wiring-changed"]}, **NAMED)
        row = bench.job(number).ledger.get(event_type="work_done")
        assert row.data["before"] is True
        assert LEFT in keys_up(bench, number)

    def test_a_unit_on_the_limiter_that_is_said_to_be_open_loses_mains(self, bench, first):
        bench.limited(first)
        commands.receive(by=bench.by, at=timezone.now(), arrived_open=True, join=True, **NAMED)
        job = bench.job(first)
        assert (job.power, job.cover, job.unplug_due) == ("isolated", "off", True)
