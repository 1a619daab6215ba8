"""What was recorded wrongly is withdrawn; facts follow, and a hazard stays up until it is looked at."""

from __future__ import annotations

from typing import Any

import pytest
from django.utils import timezone

from shop.jobs import commands
from shop.jobs.models import JobReading
from shop.lib.refusals import BadInput, Forbidden, UserFacingError
from tests.jobs.hazards.hands import Hands, refused, state, steps
from tests.jobs.hazards.units import class_ab


@pytest.fixture
def unit(hands):
    return hands.receive(facts=class_ab(), make="Test Works", model="Modle 7", serial="A12")


def take_back(hands: Any, number: int, row: Any, reason: str = "wrong unit") -> Any:
    return hands.record(number, "entry_withdrawn", row=row.sequence, reason=reason)


def last(hands: Any, number: int, kind: str) -> Any:
    return hands.job(number).ledger.filter(event_type=kind).order_by("sequence").last()


def correct(hands: Any, number: int, **fields: str) -> Any:
    return commands.correct_intake(number, by=hands.by, at=hands.wait(minutes=1), **fields)


def test_a_finding_is_withdrawn_and_its_hazard_waits_for_a_look(hands, unit):
    hands.sign_all(unit)
    row = hands.record(unit, "finding_recorded", finding="fuse-wrong")
    assert take_back(hands, unit, row).data["row"] == row.sequence
    assert hands.traveller(unit).record.findings == []
    refused(hands.power, unit, "limited")
    hands.sign_all(unit)
    assert hands.power(unit, "limited").power == "limited"


def test_a_finding_recorded_twice_stays_when_one_entry_is_withdrawn(hands, unit):
    row = hands.record(unit, "finding_recorded", finding="dust-heavy")
    hands.record(unit, "finding_recorded", finding="dust-heavy")
    take_back(hands, unit, row)
    assert hands.traveller(unit).record.findings == ["dust-heavy"]


def test_a_withdrawn_finding_does_not_give_mains_back(hands, unit):
    hands.on_limiter(unit)
    row = hands.record(unit, "finding_recorded", finding="fuse-wrong")
    refused(take_back, hands, unit, row)
    hands.power(unit, "isolated")
    take_back(hands, unit, row)
    assert hands.job(unit).power == "isolated"
    refused(hands.power, unit, "limited")


def test_a_trial_is_withdrawn_and_counted_no_longer(hands, unit):
    for fault in (True, False, False):
        row = hands.record(unit, "trial_run", fault=fault)
    assert hands.traveller(unit).record.clean_trials_run == 2
    take_back(hands, unit, row)
    record = hands.traveller(unit).record
    assert (record.clean_trials_run, len(record.trials)) == (1, 2)


def test_work_is_withdrawn_and_what_it_raised_stays_up(hands, unit):
    hands.opened(unit)
    row = hands.record(unit, "work_done", work="output-devices-replaced")
    take_back(hands, unit, row)
    assert hands.traveller(unit).record.work == []
    assert hands.state(unit, "shorts-before-power") == "ended"
    assert "shorts-before-power" in steps(refused(hands.power, unit, "limited"))


def test_a_reading_is_withdrawn(hands, unit):
    row = hands.record(unit, "reading_taken", quantity="ripple_percent", value=3.0)
    assert JobReading.objects.filter(job=unit, row=row.sequence).exists()
    take_back(hands, unit, row)
    assert not JobReading.objects.filter(job=unit).exists()


def test_a_signature_is_withdrawn_and_its_step_stands_no_longer(hands, unit):
    hands.sign_all(unit)
    row = next(
        row for row in hands.job(unit).ledger.all() if row.data.get("step") == "mains-voltage-match"
    )
    take_back(hands, unit, row, "looked at another plate")
    assert not hands.step(unit, "mains-voltage-match").stands
    assert "mains-voltage-match" in steps(refused(hands.power, unit, "limited"))


def test_a_signature_withdrawn_under_mains_takes_it_off(hands, unit):
    hands.on_limiter(unit)
    row = next(
        row for row in hands.job(unit).ledger.all() if row.data.get("step") == "mains-voltage-match"
    )
    take_back(hands, unit, row)
    assert state(hands.job(unit)) == ("isolated", "on", True)


def test_a_withdrawn_fail_gives_no_earlier_pass_back(hands, unit):
    hands.sign_all(unit)
    hands.sign(unit, "fuse-check", result="fail")
    take_back(hands, unit, last(hands, unit, "step_signed"))
    assert not hands.step(unit, "fuse-check").stands


def test_power_cover_and_intake_are_not_withdrawn(hands, unit):
    row = hands.record(unit, "finding_recorded", finding="dust-heavy")
    take_back(hands, unit, row)
    hands.sign_all(unit)
    hands.cover(unit, "off")
    hands.on_limiter(unit)
    hands.power(unit, "isolated")
    for kind in ("received", "cover_removed", "power_applied", "power_removed", "permit_granted"):
        with pytest.raises(UserFacingError):
            take_back(hands, unit, last(hands, unit, kind))


def test_a_row_is_withdrawn_once_with_a_reason_and_only_if_it_is_there(hands, unit):
    row = hands.record(unit, "finding_recorded", finding="dust-heavy")
    with pytest.raises(BadInput, match="reason"):
        hands.record(unit, "entry_withdrawn", row=row.sequence)
    with pytest.raises(BadInput, match="row"):
        hands.record(unit, "entry_withdrawn", row=999, reason="wrong unit")
    take_back(hands, unit, row)
    with pytest.raises(UserFacingError):
        take_back(hands, unit, row)


def test_a_corrected_intake_keeps_old_and_new_in_the_ledger(hands, unit):
    correct(hands, unit, model="Model 7", complaint="hums, left only")
    job = hands.job(unit)
    assert (job.unit.make, job.unit.model, job.unit.serial) == ("Test Works", "Model 7", "A12")
    assert job.complaint == "hums, left only"
    body = last(hands, unit, "intake_corrected").body
    assert "Modle 7" in body
    assert "Model 7" in body


def test_a_corrected_intake_changes_no_other_job_of_another_unit(hands, unit):
    other = hands.receive(facts=class_ab(), make="Test Works", model="Modle 7", serial="A13")
    correct(hands, unit, serial="A14")
    assert hands.job(other).unit.serial == "A13"


def test_a_corrected_serial_brings_what_the_unit_left_behind(hands):
    named = {"make": "Test Works", "model": "Model 7"}
    first = hands.receive(facts=class_ab(), serial="A1", **named)
    hands.record(first, "finding_recorded", finding="fuse-wrong")
    hands.handed_back(first)
    again = hands.receive(facts=class_ab(), serial="A2", **named)
    hands.sign_all(again)
    correct(hands, again, serial="A1")
    refused(hands.power, again, "limited")


def test_a_waiver_ends_when_its_hazard_is_raised_again(hands, people):
    number = hands.receive(facts=class_ab(intake__damage=["burnt-smell"]))
    hands.sign_all(number, without=("no-power-before-look-inside",))
    waiver = {"by": people.owner, "at": timezone.now(), "reason": "seen by eye"}
    commands.waive(number, "no-power-before-look-inside", **waiver)
    assert hands.state(number, "no-power-before-look-inside") == "waived"
    hands.record(number, "fact_recorded", name="intake.damage", value=["burnt-smell", "liquid"])
    assert not hands.step(number, "no-power-before-look-inside").stands
    refused(hands.power, number, "limited")


def test_a_waiver_stands_while_nothing_is_raised(hands, people):
    number = hands.receive(facts=class_ab(intake__damage=["burnt-smell"]))
    waiver = {"by": people.owner, "at": timezone.now(), "reason": "seen by eye"}
    commands.waive(number, "no-power-before-look-inside", **waiver)
    hands.sign_all(number)
    assert hands.power(number, "limited").power == "limited"


@pytest.mark.parametrize("role", ["desk", "viewer"])
def test_only_the_bench_takes_findings_back(hands, people, unit, role):
    row = hands.record(unit, "finding_recorded", finding="fuse-wrong")
    with pytest.raises(Forbidden):
        take_back(Hands(people.named(role), hands.clock), unit, row)
