"""The soak by two taps: what is last before it starts it, and the words that it ran well sign it."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from checklists.engine.words import LEAVE, UNATTENDED
from shop.jobs import commands
from tests.helpers import Bench, amplifier

PLACE, HOURS, PANEL = "soak-place", "soak-run", "full-function"


@pytest.fixture
def bench(people, client):
    client.force_login(people.technician)
    return Bench(people.technician)


@pytest.fixture
def ready(bench):
    """A closed unit on mains: nothing but the safe place is in the way of its soak."""
    number = bench.receive(facts=amplifier())
    bench.open_up(number)
    bench.cover(number, "on")
    bench.stage(number, "reassembled")
    bench.full(number)
    keys = [step.key for step in bench.asked(number, UNATTENDED, LEAVE)]
    bench.pass_steps(number, *(key for key in keys if key not in (PLACE, HOURS, PANEL)))
    bench.full(number)
    return number


@pytest.fixture
def over(bench):
    """A unit whose soak has run for its hours, read once."""
    number = bench.receive(facts=amplifier())
    bench.open_up(number)
    bench.to_soak(number)
    with time_machine.travel(timezone.now() - timedelta(hours=9)):
        bench.record(number, "soak_started")
    bench.record(number, "soak_reading", quantity="sink_celsius", value=51, unit="C")
    return number


def card_of(client, number):
    return client.get(reverse("job", args=[number])).content.decode()


def start(client, bench, number, **typed):
    shown = {"step": PLACE, "substance": bench.step(number, PLACE).content_hash}
    typed = shown | {"start": "1"} | typed
    return client.post(reverse("soak-start", args=[number]), typed)


def say_it_ran_well(client, bench, number, *keys, **typed):
    hashes = {f"{key}:substance": bench.step(number, key).content_hash for key in keys}
    return client.post(reverse("soak-over", args=[number]), {"also": keys, **hashes, **typed})


class TestItsStart:
    def test_the_last_step_before_it_is_signed_and_its_clock_runs(self, client, bench, ready):
        assert "Done: start the soak" in card_of(client, ready)
        assert start(client, bench, ready).status_code == 302
        assert bench.state(ready, PLACE) == "signed"
        assert bench.job(ready).stage == "soaking"
        assert bench.traveller(ready).record.soak == "running"

    def test_a_step_that_has_changed_since_starts_nothing(self, client, bench, ready):
        answer = start(client, bench, ready, substance="of another day")
        assert answer.status_code == 409
        assert "Read it again" in answer.content.decode()
        assert bench.state(ready, PLACE) == "due"
        assert bench.job(ready).stage == "reassembled"

    @pytest.mark.parametrize("missing", ["step", "substance"])
    def test_a_step_that_the_page_did_not_show_is_not_signed(self, client, bench, ready, missing):
        answer = start(client, bench, ready, **{missing: ""})
        assert answer.status_code == 409
        assert bench.state(ready, PLACE) == "due"
        assert bench.job(ready).stage == "reassembled"

    def test_where_two_have_to_sign_it_starts_nothing(self, client, bench, ready, monkeypatch):
        own = bench.step(ready, PLACE).step
        monkeypatch.setattr(type(own), "second_person", property(lambda one: one.key == PLACE))
        page = card_of(client, ready)
        assert "start the soak" not in page
        assert 'name="result" value="pass"' in page

    def test_where_two_steps_are_in_the_way_the_first_is_only_signed(self, client, bench, over):
        bench.record(over, "soak_ended", result="fail")
        bench.power(over, "isolated")
        assert "start the soak" not in card_of(client, over).casefold()
        assert start(client, bench, over).status_code == 409

    def test_plain_done_starts_nothing(self, client, bench, ready):
        where = reverse("sign", args=[ready, PLACE])
        client.post(where, {"result": "pass", "step": PLACE})
        assert bench.state(ready, PLACE) == "signed"
        assert bench.job(ready).stage == "reassembled"


class TestItsEnd:
    def test_one_tap_ends_it_and_signs_what_the_card_shows(self, client, bench, over):
        page = card_of(client, over)
        assert "It ran well. Done, all 2" in page
        assert "the highest reading was 51" in page
        assert f'name="also" value="{PANEL}"' in page
        assert say_it_ran_well(client, bench, over, HOURS, PANEL).status_code == 302
        assert bench.traveller(over).record.soak == "passed"
        assert [bench.state(over, key) for key in (HOURS, PANEL)] == ["signed", "signed"]

    def test_without_a_step_beside_it_the_words_sign_its_own(self, client, bench, over):
        bench.sign(over, PANEL)
        page = card_of(client, over)
        assert "Done, all" not in page
        assert f'name="also" value="{HOURS}"' in page

    def test_a_step_that_has_changed_since_ends_and_signs_nothing(self, client, bench, over):
        other = {f"{PANEL}:substance": "of another day"}
        answer = say_it_ran_well(client, bench, over, HOURS, PANEL, **other)
        assert answer.status_code == 409
        assert bench.traveller(over).record.soak == "running"
        assert bench.state(over, HOURS) == "due"

    def test_what_the_card_does_not_offer_is_refused(self, client, bench, over):
        answer = say_it_ran_well(client, bench, over, HOURS, "touch-current")
        assert answer.status_code == 409
        assert bench.traveller(over).record.soak == "running"

    def test_it_does_not_end_before_its_hours(self, client, bench, ready):
        start(client, bench, ready)
        answer = say_it_ran_well(client, bench, ready, HOURS)
        assert answer.status_code == 409
        assert bench.traveller(ready).record.soak == "running"
        assert bench.state(ready, HOURS) == "due"

    def test_one_that_failed_by_its_readings_did_not_run_well(self, client, bench, over):
        bench.record(over, "soak_reading", quantity="sink_celsius", value=120, unit="C")
        assert say_it_ran_well(client, bench, over, HOURS, PANEL).status_code == 409
        assert bench.traveller(over).record.soak == "running"
        assert bench.state(over, PANEL) == "due"

    def test_its_readings_have_the_last_word(self, bench, over):
        bench.record(over, "soak_reading", quantity="sink_celsius", value=120, unit="C")
        ended = commands.end_soak_well(over, [(HOURS, {})], by=bench.by, at=timezone.now())
        assert ended.data["result"] == "fail"
        assert bench.state(over, HOURS) == "due"

    def test_who_may_not_sign_is_shown_no_signature(self, client, people, over):
        client.force_login(people.desk)
        assert 'name="also"' not in card_of(client, over)
