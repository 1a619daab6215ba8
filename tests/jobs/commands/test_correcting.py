"""An intake is corrected, the unit's identity and past follow; two jobs of one unit become one."""

from __future__ import annotations

import pytest
from django.utils import timezone

from shop.customers import correcting
from shop.customers.links import keys
from shop.intake import services as intake_services
from shop.intake.services import IntakeDetails
from shop.jobs import commands, events, ledger
from shop.jobs.models import Job, JobReading, LedgerRow, Permit, StageVisit
from shop.lib.refusals import BadInput, Forbidden, Refused
from tests.helpers import amplifier

NAMED = {"make": "Corvenby", "model": "Spool 3"}
SIX_SCRIPTS = "Rauscht, шипит, 沙沙, サー, يهسهس, σφυρίζει"


@pytest.fixture
def number(bench):
    return bench.receive(facts=amplifier(), serial="K-1", **NAMED)


def correct(bench, number, **fields):
    return commands.correct_intake(number, by=bench.by, at=timezone.now(), **fields)


def join(bench, number, into):
    return commands.join(number, into, by=bench.by, at=timezone.now())


def up(bench, number):
    return {one.hazard.key for one in bench.traveller(number).checklist.up}


def intact(number):
    rows = list(LedgerRow.objects.filter(job=number).order_by("sequence"))
    return ledger.faults(rows, Job.objects.get(pk=number).head) == []


def gone(bench, number):
    Job.objects.filter(pk=number).update(stage="withdrawn", closed_at=timezone.now())


class TestCorrecting:
    def test_old_and_new_stand_in_the_row(self, bench, number):
        job = correct(bench, number, model="Spool 4", complaint=SIX_SCRIPTS)
        assert (job.unit.model, job.unit.serial, job.complaint) == ("Spool 4", "K-1", SIX_SCRIPTS)
        row = bench.job(number).ledger.last()
        assert row.data == {
            "changes": {
                "model": {"from": "Spool 3", "to": "Spool 4"},
                "complaint": {"from": "hums", "to": SIX_SCRIPTS},
            }
        }
        assert events.words(row)[1] == "model: Spool 3 is now Spool 4"
        assert intact(number)

    def test_nothing_changed_writes_nothing(self, bench, number):
        before = bench.kinds(number)
        correct(bench, number, model="Spool 3", complaint="hums")
        assert bench.kinds(number) == before

    def test_another_spelling_stays_the_same_unit(self, bench, number):
        unit = bench.job(number).unit_id
        correct(bench, number, make="CORVENBY", serial="k 1")
        job = bench.job(number)
        assert (job.unit_id, job.unit.make, job.unit.serial) == (unit, "CORVENBY", "k 1")

    def test_earlier_jobs_of_the_unit_keep_their_name(self, bench, number):
        gone(bench, number)
        again = bench.receive(facts=amplifier(), serial="K-1", **NAMED)
        correct(bench, again, serial="K-2")
        assert bench.job(number).unit.serial == "K-1"
        assert bench.job(again).unit.serial == "K-2"

    def test_a_unit_that_was_here_is_taken_with_what_it_left_up(self, bench, number):
        bench.record(number, "finding_recorded", finding="fuse-wrong")
        gone(bench, number)
        again = bench.receive(facts=amplifier(), serial="K-2", **NAMED)
        bench.limited(again)
        correct(bench, again, serial="K-1")
        job = bench.job(again)
        assert job.unit_id == bench.job(number).unit_id
        assert "wrong-fuse-found" in up(bench, again)
        # It was carried into a unit with mains on.
        assert (job.power, job.unplug_due) == ("isolated", True)
        assert bench.state(again, "fuse-check") == "ended"

    def test_a_unit_that_is_here_is_refused(self, bench, number):
        other = bench.receive(facts=amplifier(), serial="", **NAMED)
        with pytest.raises(Refused, match=f"job {number} is open") as caught:
            correct(bench, other, serial="K-1")
        assert [one.code for one in caught.value.refusals] == ["already-here"]
        assert bench.job(other).unit.serial == ""

    def test_a_serial_that_is_none_takes_the_identity_away(self, bench, number):
        correct(bench, number, serial="n/a")
        other = bench.receive(facts=amplifier(), serial="K-1", **NAMED)
        assert bench.job(other).unit_id != bench.job(number).unit_id

    def test_readings_go_to_the_corrected_model(self, bench, number):
        bench.record(number, "reading_taken", quantity="ripple_percent", value=2)
        correct(bench, number, model="Spool 4")
        assert JobReading.objects.get(job=number).model == "Spool 4"

    def test_a_closed_job_is_refused(self, bench, number):
        gone(bench, number)
        with pytest.raises(Refused, match="closed"):
            correct(bench, number, complaint="other")

    def test_bad_input_is_named(self, bench, number):
        with pytest.raises(BadInput, match="serial"):
            correct(bench, number, serial="x" * 121)

    def test_the_desk_may_and_the_viewer_may_not(self, people, number):
        commands.correct_intake(number, make="Corven", by=people.desk, at=timezone.now())
        with pytest.raises(Forbidden):
            commands.correct_intake(number, make="X", by=people.viewer, at=timezone.now())


class TestCustomerAndArrival:
    @pytest.fixture
    def number(self, people):
        details = IntakeDetails(name="Ada", email="ada@example.org", came_by="counter")
        given = {"by": people.desk, "at": timezone.now(), "details": details}
        return intake_services.receive(serial="K-1", **NAMED, **given).number

    def correct(self, people, number, **fields):
        return correcting.correct_intake(number, by=people.desk, at=timezone.now(), **fields)

    def test_the_row_names_no_person_and_links_are_closed(self, people, number):
        job = Job.objects.get(pk=number)
        ada, link = job.intake.customer_id, keys.link_for(job, now=timezone.now())
        self.correct(people, number, customer={"name": "Bo", "email": "bo@example.org"})
        intake = Job.objects.get(pk=number).intake
        assert str(intake.customer) == "Bo"
        row = job.ledger.last()
        assert row.data["changes"] == {"customer": {"from": ada, "to": intake.customer_id}}
        assert "Bo" not in row.body
        link.refresh_from_db()
        assert link.revoked_at is not None

    def test_the_same_customer_again_changes_nothing(self, people, number):
        before = Job.objects.get(pk=number).head
        self.correct(people, number, customer={"name": "Ada", "email": "ADA@example.org"})
        assert Job.objects.get(pk=number).head == before

    def test_the_arrival_follows(self, people, number):
        self.correct(people, number, arrival={"came_by": "parcel", "parcel": "damp"})
        job = Job.objects.get(pk=number)
        assert (job.intake.came_by, job.intake.parcel) == ("parcel", "damp")
        assert job.ledger.last().data["changes"]["came_by"] == {"from": "counter", "to": "parcel"}

    def test_bad_input_is_named_and_nothing_is_kept(self, people, number):
        with pytest.raises(BadInput, match=r"arrival\.came_by"):
            self.correct(people, number, arrival={"came_by": "balloon"}, serial="K-2")
        with pytest.raises(BadInput, match="customer has no shoe"):
            self.correct(people, number, customer={"shoe": "44"})
        assert Job.objects.get(pk=number).unit.serial == "K-1"


class TestJoining:
    @pytest.fixture
    def twin(self, bench, number):
        """A second open job of the unit, as shops of older releases have them."""
        other = bench.receive(facts=amplifier(), serial="K-2", **NAMED)
        Job.objects.filter(pk=other).update(unit=bench.job(number).unit_id)
        return other

    def test_neither_gets_mains_until_they_are_joined(self, bench, number, twin):
        for one, other in ((number, twin), (twin, number)):
            with pytest.raises(Refused, match=f"another open job, {other}"):
                bench.power(one, "limited")
        join(bench, twin, number)
        bench.limited(number)
        assert bench.job(number).power == "limited"

    def test_one_is_closed_and_both_hold_the_row(self, bench, number, twin):
        kept = join(bench, twin, number)
        closed = bench.job(twin)
        assert kept.number == number
        assert (closed.stage, closed.joined_into_id) == ("withdrawn", number)
        assert closed.closed_at is not None
        assert bench.job(twin).ledger.last().data == {"into": number}
        assert bench.job(number).ledger.filter(event_type="jobs_joined").get().data["from"] == twin
        assert not StageVisit.objects.filter(job=twin, left_at=None).exists()
        assert intact(number)
        assert intact(twin)

    def test_what_is_up_in_the_one_is_up_in_the_other(self, bench, number, twin):
        bench.pass_steps(number, "fuse-check")
        bench.record(twin, "finding_recorded", finding="fuse-wrong")
        bench.record(twin, "work_done", work="mains-wiring-changed", before=True)
        assert not {"wrong-fuse-found", "mains-wiring-wrong"} & up(bench, number)
        join(bench, twin, number)
        assert {"wrong-fuse-found", "mains-wiring-wrong"} <= up(bench, number)
        assert bench.state(number, "fuse-check") == "ended"
        [note] = bench.job(number).ledger.filter(event_type="note_added")
        assert "found: fuse wrong; work: mains wiring changed" in note.data["text"]

    def test_mains_is_taken_off_both(self, bench, number):
        bench.limited(number)
        other = bench.receive(facts=amplifier(), serial="K-2", **NAMED)
        Job.objects.filter(pk=other).update(unit=bench.job(number).unit_id)
        join(bench, number, other)
        assert (bench.job(number).power, bench.job(number).unplug_due) == ("isolated", False)
        # The plug is asked for in the job that goes on.
        assert (bench.job(other).power, bench.job(other).unplug_due) == ("isolated", True)
        assert not Permit.objects.filter(ended_at=None).exists()

    def test_a_unit_with_mains_by_the_other_job_is_not_opened(self, bench, number):
        bench.limited(number)
        other = bench.receive(facts=amplifier(), serial="K-2", **NAMED)
        Job.objects.filter(pk=other).update(unit=bench.job(number).unit_id)
        with pytest.raises(Refused, match=f"Mains is on by job {number} of the same unit"):
            bench.cover(other, "off")
        bench.record(number, "note_added", text="looked at")
        assert bench.job(number).power == "isolated"

    def test_the_cover_is_off_when_it_is_off_in_either(self, bench, number):
        opened = bench.receive(facts=amplifier(), serial="K-2", arrived_open=True, **NAMED)
        Job.objects.filter(pk=opened).update(unit=bench.job(number).unit_id)
        join(bench, opened, number)
        assert bench.job(number).cover == "off"
        assert bench.traveller(number).checklist.opened

    def test_a_joined_job_hands_nothing_on_by_itself(self, bench, number, twin):
        bench.record(twin, "finding_recorded", finding="fuse-wrong")
        join(bench, twin, number)
        bench.pass_steps(number, "fuse-check", "right-fuse-fitted")
        gone(bench, number)
        again = bench.receive(facts=amplifier(), serial="K-1", **NAMED)
        assert "wrong-fuse-found" not in up(bench, again)

    def test_jobs_of_two_units_closed_ones_and_one_alone_are_refused(self, bench, number, twin):
        other = bench.receive(facts=amplifier(), serial="K-3", **NAMED)
        for one, into, said in (
            (number, other, "not of one unit"),
            (number, number, "into itself"),
        ):
            with pytest.raises(Refused, match=said):
                join(bench, one, into)
        gone(bench, twin)
        for one, into in ((number, twin), (twin, number)):
            with pytest.raises(Refused, match=f"Job {twin} is closed"):
                join(bench, one, into)

    @pytest.mark.parametrize("role", ["desk", "viewer"])
    def test_the_bench_joins(self, people, number, twin, role):
        with pytest.raises(Forbidden):
            commands.join(twin, number, by=people.named(role), at=timezone.now())
