"""Work is done open, isolated and dead; what was not is told with a mark."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.urls import reverse

from shop.lib.refusals import UserFacingError
from tests.jobs.hazards.hands import refused, steps
from tests.jobs.hazards.units import class_ab, turntable

INSIDE = ["output-devices-replaced"]


@pytest.fixture
def unit(hands):
    return hands.receive(facts=class_ab())


def work(hands: Any, number: int, kind: str, **marks: Any) -> Any:
    return hands.record(number, "work_done", work=kind, **marks)


def told_late(hands: Any, number: int, kind: str) -> Any:
    """Tell of work that was done a few minutes ago, after all that is on record."""
    moment = hands.wait(minutes=5)
    hands.wait(minutes=5)
    return work(hands, number, kind, late="forgotten", done_at=moment.isoformat())


@pytest.mark.parametrize("kind", INSIDE)
def test_work_inside_a_closed_unit_is_refused(hands, unit, kind):
    hands.sign_all(unit)
    refused(work, hands, unit, kind)
    hands.opened(unit)
    assert work(hands, unit, kind).event_type == "work_done"


def test_a_part_is_not_fitted_into_a_closed_unit(hands, unit):
    hands.record(unit, "part_needed", spec="relay 24 V")
    hands.sign_all(unit)
    refused(hands.record, unit, "part_fitted")
    hands.opened(unit)
    assert hands.record(unit, "part_fitted").event_type == "part_fitted"


def test_a_belt_is_changed_from_outside(hands):
    number = hands.receive(facts=turntable())
    hands.sign_all(number)
    refused(work, hands, number, "belt-replaced")
    row = work(hands, number, "belt-replaced", from_outside=True)
    assert row.data["from_outside"] is True


def test_an_outside_fuse_is_changed_from_outside(hands, unit):
    assert work(hands, unit, "fuse-replaced", from_outside=True).data["from_outside"] is True


def test_a_part_is_fitted_from_outside(hands, unit):
    hands.record(unit, "part_needed", spec="fuse T 2 A")
    row = hands.record(unit, "part_fitted", from_outside=True)
    assert row.data["from_outside"] is True


def test_nothing_is_changed_from_outside_under_mains(hands, unit):
    work(hands, unit, "fuse-replaced", from_outside=True)
    hands.on_limiter(unit)
    refused(work, hands, unit, "fuse-replaced", from_outside=True)
    hands.power(unit, "isolated")
    work(hands, unit, "fuse-replaced", from_outside=True)


@pytest.mark.parametrize("kind", INSIDE)
def test_what_is_inside_is_not_done_from_outside(hands, unit, kind):
    hands.sign_all(unit)
    work(hands, unit, "fuse-replaced", from_outside=True)
    refused(work, hands, unit, kind, from_outside=True)


@pytest.mark.parametrize("late", [True, False])
def test_a_second_mark_does_not_put_the_inside_outside(hands, unit, late):
    """Told late, or from before the job: from outside it would raise nothing inside."""
    at = hands.wait(minutes=5)
    marks = {"late": "forgotten", "done_at": at.isoformat()} if late else {"before": True}
    refused(work, hands, unit, "output-devices-replaced", from_outside=True, **marks)
    assert work(hands, unit, "output-devices-replaced", **marks).event_type == "work_done"


def test_a_board_on_the_bench_is_worked_on_while_the_unit_is_elsewhere(hands, unit):
    hands.opened(unit)
    work(hands, unit, "board-removed")
    hands.cover(unit, "on")
    refused(work, hands, unit, "joints-reflowed")
    assert work(hands, unit, "joints-reflowed", board_out=True).data["board_out"] is True


@pytest.mark.parametrize("power", ["isolated", "limited", "full"])
def test_what_was_forgotten_is_told_at_any_time(hands, unit, power):
    if power != "isolated":
        {"limited": hands.on_limiter, "full": hands.on_full}[power](unit)
    row = told_late(hands, unit, "belt-replaced")
    assert row.data["late"] == "forgotten"
    assert row.data["done_at"]


def test_what_was_forgotten_needs_its_time(hands, unit):
    with pytest.raises(UserFacingError, match="done_at"):
        work(hands, unit, "belt-replaced", late="forgotten")


def test_what_was_forgotten_raises_what_it_raises(hands, unit):
    hands.opened(unit)
    assert hands.state(unit, "shorts-before-power") == "signed"
    told_late(hands, unit, "output-devices-replaced")
    assert hands.state(unit, "shorts-before-power") == "ended"
    refused(hands.power, unit, "limited")


def test_what_was_forgotten_ends_mains_that_it_should_have_kept_off(hands, unit):
    hands.opened(unit)
    hands.on_limiter(unit)
    told_late(hands, unit, "output-devices-replaced")
    job = hands.job(unit)
    assert (job.power, job.unplug_due) == ("isolated", True)


def test_what_was_forgotten_clears_nothing(hands, unit):
    hands.opened(unit)
    hands.record(unit, "finding_recorded", finding="insulator-cracked")
    told_late(hands, unit, "insulator-material-changed")
    refused(hands.power, unit, "limited")


def test_closed_tests_made_after_forgotten_work_stand(hands, unit):
    hands.opened(unit)
    moment = hands.wait(minutes=5)
    hands.closed(unit)
    work(hands, unit, "mains-wiring-changed", late="forgotten", done_at=moment.isoformat())
    assert hands.state(unit, "earth-continuity") == "signed"
    assert hands.state(unit, "insulation-resistance") == "signed"


def test_closed_tests_made_before_forgotten_work_do_not_stand(hands, unit):
    hands.ready_to_leave(unit)
    told_late(hands, unit, "mains-wiring-changed")
    for key in ("earth-continuity", "insulation-resistance", "touch-current"):
        assert hands.state(unit, key) == "ended", key
    refused(hands.stage, unit, "released")


def test_work_of_others_before_the_job_is_told_on_a_closed_unit_and_raises(hands, unit):
    hands.sign_all(unit)
    row = work(hands, unit, "mains-wiring-changed", before=True)
    assert row.data["before"] is True
    refused(hands.power, unit, "limited")


def test_a_unit_arrives_open(hands):
    number = hands.receive(facts=class_ab(), arrived_open=True)
    assert hands.job(number).cover == "off"
    refused(work, hands, number, "joints-reflowed")
    hands.sign_all(number)
    assert work(hands, number, "joints-reflowed").event_type == "work_done"


def test_a_unit_that_arrives_open_asks_for_shorts_before_mains(hands):
    number = hands.receive(facts=class_ab(), arrived_open=True)
    hands.sign_all(number, without=("shorts-before-power",))
    assert "shorts-before-power" in steps(refused(hands.power, number, "limited"))
    hands.sign_all(number)
    assert hands.power(number, "limited").power == "limited"


def test_a_unit_arrives_closed_when_nobody_says_otherwise(hands, unit):
    assert hands.job(unit).cover == "on"


def test_no_mark_of_an_earlier_work_is_chosen_for_the_next(hands, unit, client, people):
    """A mark lets a hand go where it is not asked, so it is said each time, of this unit and now."""
    work(hands, unit, "joints-reflowed", board_out=True)
    again = hands.receive(facts=class_ab())
    client.force_login(people.technician)
    for number in (unit, again):
        form = {"what": "work_done", "again": "yes"}
        page = client.get(reverse("job-write", args=[number]), form).content.decode()
        places = re.findall(r'<select name="where".*?</select>', page, flags=re.DOTALL)
        assert places
        assert all(re.findall(r'value="(\w*)" selected', one) in ([], [""]) for one in places)
        refused(work, hands, number, "joints-reflowed")
