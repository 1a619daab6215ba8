"""Steps that are done in one go stand on one card, each with its own sign-off."""

from __future__ import annotations

from dataclasses import replace

import pytest
from django.urls import reverse

from checklists.engine.words import COVER_OFF, HANDS
from shop.jobs import sharing
from tests.helpers import Bench, amplifier


@pytest.fixture
def opened(people, client):
    """A unit whose cover is off, and that nobody has proved dead."""
    client.force_login(people.technician)
    bench = Bench(people.technician)
    number = bench.receive(facts=amplifier())
    bench.stage(number, "reproducing")
    bench.clear(number, COVER_OFF)
    bench.stage(number, "opened")
    bench.cover(number, "off")
    return bench, number


@pytest.fixture
def due_again(opened):
    """The same unit, which was proved dead once, and whose reservoirs are new since."""
    bench, number = opened
    bench.clear(number, HANDS)
    bench.record(number, "work_done", work="reservoirs-replaced", section="supply")
    return opened


def card_of(client, number):
    return client.get(reverse("job", args=[number])).content.decode()


def sign(client, number, **typed):
    typed = {"result": "pass", "step": "discharge-reservoirs", "also": "verify-dead", **typed}
    return client.post(reverse("sign", args=[number, "discharge-reservoirs"]), typed)


def test_long_instructions_have_a_card_each_the_first_time(client, opened):
    assert 'name="also"' not in card_of(client, opened[1])


def test_both_are_signed_in_their_order_by_one_button(client, due_again):
    bench, number = due_again
    page = card_of(client, number)
    assert 'name="also" value="verify-dead"' in page
    sign(
        client, number, **{"reading-residual_volts": "2", "verify-dead:reading-highest_volts": "1"}
    )
    assert bench.state(number, "discharge-reservoirs") == "signed"
    assert bench.state(number, "verify-dead") == "signed"
    keys = [row.data["step"] for row in bench.traveller(number).record.of_type("step_signed")]
    assert keys[-2:] == ["discharge-reservoirs", "verify-dead"]


def test_one_undo_takes_back_what_one_tap_signed(client, due_again):
    bench, number = due_again
    readings = {"reading-residual_volts": "2", "verify-dead:reading-highest_volts": "1"}
    sign(client, number, **readings)
    last = bench.job(number).ledger.filter(event_type="step_signed").last()
    answer = client.post(reverse("undo", args=[number, last.sequence]), follow=True)
    said = answer.content.decode()
    assert "Undone: Discharge the reservoirs by the plan, Prove it dead: tester, unit, tester." in (
        said
    )
    assert "They are not signed." in said
    assert bench.state(number, "discharge-reservoirs") != "signed"
    assert bench.state(number, "verify-dead") != "signed"
    assert 'name="step" value="discharge-reservoirs"' in said


def test_undo_takes_back_nothing_of_the_tap_before(client, due_again):
    bench, number = due_again
    for key, reading in (("discharge-reservoirs", "residual"), ("verify-dead", "highest")):
        typed = {"result": "pass", "step": key, f"reading-{reading}_volts": "1"}
        client.post(reverse("sign", args=[number, key]), typed)
    last = bench.job(number).ledger.filter(event_type="step_signed").last()
    client.post(reverse("undo", args=[number, last.sequence]))
    assert bench.state(number, "discharge-reservoirs") == "signed"


def test_where_one_is_not_read_nothing_is_signed_and_what_was_typed_comes_back(client, due_again):
    bench, number = due_again
    before = len(bench.traveller(number).record.rows)
    answer = sign(client, number, **{"reading-residual_volts": "2"})
    said = answer.content.decode()
    assert answer.status_code == 422
    assert "Prove it dead: tester, unit, tester: highest_volts is missing" in said
    assert "Nothing on this card was signed." in said
    assert 'name="reading-residual_volts"' in said
    assert 'value="2"' in said
    assert len(bench.traveller(number).record.rows) == before


def test_a_bad_number_of_the_second_comes_back_as_typed(client, due_again):
    bench, number = due_again
    typed = {"reading-residual_volts": "2", "verify-dead:reading-highest_volts": "1.5.2"}
    answer = sign(client, number, **typed)
    assert answer.status_code == 422
    assert 'value="1.5.2"' in answer.content.decode()
    assert bench.state(number, "verify-dead") != "signed"
    assert bench.state(number, "discharge-reservoirs") != "signed"


def test_where_the_first_is_outside_its_limit_nothing_else_is_signed(client, due_again):
    bench, number = due_again
    sign(
        client, number, **{"reading-residual_volts": "90", "verify-dead:reading-highest_volts": "1"}
    )
    assert bench.state(number, "discharge-reservoirs") == "failed"
    assert bench.state(number, "verify-dead") != "signed"


BOTH_READ = {"reading-residual_volts": "2", "verify-dead:reading-highest_volts": "1"}


def refused(bench, number, answer):
    """What is said, where nothing was written."""
    assert answer.status_code == 409
    assert bench.state(number, "discharge-reservoirs") != "signed"
    return answer.content.decode()


@pytest.mark.parametrize(
    ("key", "named"),
    [
        # It kills, and nothing is read.
        ("live-measuring", "Ready to measure on the open unit under mains"),
        # Its instructions are read alone, and it stands at another gate.
        ("soak-place", "A safe place to run"),
    ],
)
def test_a_step_that_the_card_does_not_offer_is_refused_by_name(client, due_again, key, named):
    bench, number = due_again
    assert bench.step(number, key).step.title == named
    said = refused(bench, number, sign(client, number, also=["verify-dead", key], **BOTH_READ))
    assert f"{named}: it is signed on a card of its own; nothing was signed." in said
    assert bench.state(number, "verify-dead") != "signed"


def test_long_instructions_that_nobody_has_read_alone_are_not_shared(client, opened):
    bench, number = opened
    said = refused(bench, number, sign(client, number, **BOTH_READ))
    assert "Prove it dead: tester, unit, tester: it is signed on a card of its own" in said


def test_a_step_twice_is_refused(client, due_again):
    bench, number = due_again
    typed = {**BOTH_READ, "also": ["verify-dead", "verify-dead"]}
    refused(bench, number, sign(client, number, **typed))


def test_a_word_that_is_no_step_is_refused(client, due_again):
    bench, number = due_again
    said = refused(bench, number, sign(client, number, also="no-such-step", **BOTH_READ))
    assert "no-such-step" in said
    assert "is not on the list of this job; nothing was signed." in said


def test_a_card_that_was_signed_meanwhile_is_refused(client, due_again):
    bench, number = due_again
    bench.sign(number, "discharge-reservoirs")
    bench.sign(number, "verify-dead")
    rows = len(bench.traveller(number).record.rows)
    answer = sign(client, number, **BOTH_READ)
    assert answer.status_code == 409
    assert "it is signed already; nothing was signed. Load the page again." in (
        answer.content.decode()
    )
    assert len(bench.traveller(number).record.rows) == rows


def test_a_stale_second_step_keeps_the_first_from_being_signed(client, due_again):
    bench, number = due_again
    typed = {**BOTH_READ, "verify-dead:substance": "of another edition"}
    assert "the step has changed since you opened it" in refused(
        bench, number, sign(client, number, **typed)
    )


def test_whoever_may_not_sign_signs_no_card(client, due_again, people):
    bench, number = due_again
    client.force_login(people.desk)
    assert sign(client, number, **BOTH_READ).status_code == 403
    assert bench.state(number, "discharge-reservoirs") != "signed"


def test_a_fail_is_never_refused_for_what_is_sent_with_it(client, due_again):
    bench, number = due_again
    sign(client, number, result="fail", also="no-such-step")
    assert bench.state(number, "discharge-reservoirs") == "failed"


def test_it_failed_is_said_of_the_first_alone(client, opened):
    bench, number = opened
    sign(client, number, result="fail", **{"verify-dead:reading-highest_volts": "1"})
    assert bench.state(number, "discharge-reservoirs") == "failed"
    assert bench.state(number, "verify-dead") == "due"


def test_a_step_that_failed_has_a_card_of_its_own(client, opened):
    bench, number = opened
    bench.sign(number, "discharge-reservoirs", "fail")
    page = client.get(reverse("step", args=[number, "discharge-reservoirs"])).content.decode()
    assert 'name="also"' not in page


def test_what_can_kill_and_leaves_no_reading_is_signed_by_its_own_button(due_again):
    bench, number = due_again
    bench.clear(number, HANDS)
    for work in ("electrolytics-replaced", "mains-wiring-changed", "board-removed"):
        bench.record(number, "work_done", work=work, section="supply")
    bench.clear(number, HANDS)
    traveller = bench.traveller(number)
    checklist = traveller.checklist
    listed = checklist.by_key

    def beside(key):
        found = sharing.beside(traveller.job, traveller.record, checklist, listed[key])
        return [one.key for one in found]

    assert not listed["mains-wiring"].stands
    assert beside("electrolytic-polarity") == ["connectors-back"]
    assert beside("mains-wiring") == []
    # A reading asks by itself whether it was done.
    assert sharing._goes_with_others(traveller.record, listed["discharge-reservoirs"])


def test_what_a_second_person_signs_has_a_card_of_its_own(due_again):
    bench, number = due_again
    record, listed = bench.traveller(number).record, bench.step(number, "verify-dead")
    assert sharing._goes_with_others(record, listed)
    by_two = replace(listed, step=replace(listed.step, second_person=True))
    assert not sharing._goes_with_others(record, by_two)


def test_a_soak_is_signed_with_every_function_once_it_has_passed(people):
    bench = Bench(people.technician)
    number = bench.receive(facts=amplifier())

    def beside():
        here = bench.traveller(number)
        listed = here.checklist.by_key["full-function"]
        found = sharing.beside(here.job, here.record, here.checklist, listed)
        return [one.key for one in found]

    bench.open_up(number)
    bench.to_soak(number)
    assert beside() == []
    bench.run_soak(number)
    assert beside() == ["soak-run"]


def test_a_card_takes_as_many_steps_as_are_short_enough_to_be_read_at_once(due_again):
    bench, number = due_again
    here = bench.traveller(number)
    first, second = (here.checklist.by_key[k] for k in ("discharge-reservoirs", "verify-dead"))
    long = replace(first, step=replace(first.step, instruction="x" * 1300))
    assert sharing._fits(here.record, [first, second]), "signed before, they are folded away"
    assert sharing._fits(here.record, [long, second])
    new = replace(long, step=replace(long.step, key="electrolytic-polarity"))
    assert not sharing._fits(here.record, [new, second])


def test_the_steps_of_a_card_may_stand_at_several_gates(due_again):
    bench, number = due_again
    bench.clear(number, HANDS)
    bench.record(number, "finding_recorded", finding="electrolytics-aged", section="supply")
    bench.record(number, "work_done", work="electrolytics-replaced", section="supply")
    bench.clear(number, HANDS)
    here = bench.traveller(number)
    listed = here.checklist.by_key
    gates = {listed[key].gate for key in ("electrolytics-made-safe", "electrolytic-polarity")}
    assert gates == {"full-power", "limited-power"}
    found = sharing.beside(here.job, here.record, here.checklist, listed["electrolytics-made-safe"])
    assert [one.key for one in found] == ["electrolytic-polarity"]
