"""A step that failed is waived on a new look alone."""

from __future__ import annotations

import pytest
from django.urls import reverse
from django.utils import timezone

from shop.jobs import commands
from shop.jobs.events.step_waived import StepWaived
from shop.lib.refusals import Refused
from tests.helpers import flat
from tests.jobs.hazards.hands import refused
from tests.jobs.hazards.units import class_ab

STEP = "no-power-before-look-inside"


@pytest.fixture
def failed(hands):
    """A unit that smells burnt, whose inside was looked at and did not pass; the rest is signed."""
    number = hands.receive(facts=class_ab(intake__damage=["burnt-smell"]))
    hands.sign_all(number, without=(STEP,))
    commands.sign(number, STEP, result="fail", note="soot", by=hands.by, at=hands.wait(minutes=1))
    return number


def waive(people, number, look=None):
    by = {"by": people.owner, "at": timezone.now()}
    return commands.waive(number, STEP, reason="vents seen with a torch", look=look, **by)


def test_without_a_new_look_it_is_refused_and_mains_stays_off(hands, people, failed):
    assert "or a waiver that rests on a new look" in hands.step(failed, STEP).validity.why
    before = hands.record(failed, "note_added", text="Owner says it is fine")
    for look in (None, 0, 1, before.sequence, 10**8):
        with pytest.raises(Refused, match="a waiver needs a new look"):
            waive(people, failed, look)
    assert hands.state(failed, STEP) == "failed"
    refused(hands.power, failed, "limited")


def test_with_a_reading_taken_since_it_stands_and_the_row_says_so(hands, people, failed):
    look = hands.record(failed, "reading_taken", quantity="smoke seen", value=0, unit="")
    assert waive(people, failed, look.sequence).state == "waived"
    row = hands.job(failed).ledger.order_by("sequence").last()
    assert row.data["look"] == look.sequence
    assert f"Looked at again: row {look.sequence}" in StepWaived.words(row.data)
    assert hands.power(failed, "limited").power == "limited"


def test_a_waiver_falls_with_the_look_that_it_rests_on(hands, people, failed):
    look = hands.record(failed, "reading_taken", quantity="smoke seen", value=0, unit="")
    waive(people, failed, look.sequence)
    hands.power(failed, "limited")
    hands.record(failed, "entry_withdrawn", row=look.sequence, reason="of another unit")
    assert hands.state(failed, STEP) == "failed"
    assert hands.job(failed).power == "isolated"
    assert hands.job(failed).unplug_due


def test_the_page_offers_what_was_looked_at_since(hands, people, failed, client):
    client.force_login(people.owner)
    path = f"/jobs/{failed}/step/{STEP}/"
    assert "so a waiver needs a new look" in flat(client.get(path).content.decode())
    look = hands.record(failed, "reading_taken", quantity="smoke seen", value=0, unit="")
    assert f'<option value="{look.sequence}">' in client.get(path).content.decode()
    form = {"reason": "vents seen with a torch", "look": str(look.sequence)}
    answer = client.post(reverse("waive", args=[failed, STEP]), form)
    assert answer.status_code == 302
    assert hands.state(failed, STEP) == "waived"


def test_the_api_takes_the_row(hands, people, failed, client):
    client.force_login(people.owner)
    path = f"/api/v1/jobs/{failed}/steps/{STEP}/waive/"
    body = {"reason": "vents seen with a torch"}
    answer = client.post(path, body, "application/json")
    assert (answer.status_code, answer.json()["codes"]) == (409, ["no-new-look"])
    look = hands.record(failed, "reading_taken", quantity="smoke seen", value=0, unit="")
    answer = client.post(path, {**body, "look": look.sequence}, "application/json")
    assert (answer.status_code, answer.json()["state"]) == (200, "waived")
