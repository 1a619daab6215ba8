"""The loud line over an open unit that nobody has proved dead."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tests.helpers import amplifier, flat

pytestmark = pytest.mark.django_db

LINE = "Treat as charged: prove it dead"


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


@pytest.fixture
def just_opened(bench, job):
    """The cover is off, and nothing has been read inside."""
    bench.pass_steps(job, "unplugged-lead-in-sight")
    bench.cover(job, "off")
    return job


def page(hands, number):
    return flat(hands.get(reverse("job", args=[number])).content.decode())


def test_an_open_unit_not_proved_dead_says_so_first(hands, just_opened):
    text = page(hands, just_opened)
    assert text.count(LINE) == 1
    assert reverse("sign", args=[just_opened, "discharge-reservoirs"]) in text


def test_whoever_chose_another_step_is_told_so_with_what_to_sign(hands, just_opened):
    text = flat(hands.get(reverse("step", args=[just_opened, "fuse-check"])).content.decode())
    assert text.count(LINE) == 1
    loud = text[text.index(LINE) : text.index("From the list")]
    for key in ("discharge-reservoirs", "verify-dead"):
        assert reverse("step", args=[just_opened, key]) in loud


def test_the_line_goes_once_it_is_proved(hands, bench, just_opened):
    bench.pass_steps(just_opened, "discharge-reservoirs", "verify-dead")
    assert LINE not in page(hands, just_opened)


def test_a_closed_unit_is_not_told_so(hands, job):
    assert LINE not in page(hands, job)


def test_under_mains_the_unit_is_not_charged_but_live(hands, bench, job):
    bench.open_up(job)
    bench.limited(job)
    assert LINE not in page(hands, job)
    bench.power(job, "isolated")
    assert LINE in page(hands, job)


def test_the_plug_comes_before_it(hands, bench, job):
    bench.open_up(job)
    bench.limited(job)
    bench.record(job, "finding_recorded", finding="insulation-damaged")
    text = page(hands, job)
    assert "Pull the plug" in text


@pytest.fixture
def arrived(bench, job):
    bench.record(job, "part_needed", spec="relay")
    bench.record(job, "part_arrived")
    return str(bench.traveller(job).record.needs[-1].sequence)


def fit(hands, job, **posted):
    answer = hands.post(reverse("record", args=[job, "part_fitted"]), posted)
    return answer.status_code, flat(answer.content.decode())


def test_fitting_into_a_closed_unit_is_refused_and_says_what_else_it_can_be(
    hands, bench, job, arrived
):
    status, text = fit(hands, job, need=arrived)
    assert status == 409
    assert "The cover is on. Take it off first" in text
    form = text[text.index("Fitted, but not inside") :]
    assert "from outside, cover on" in form
    assert "part_fitted" not in bench.kinds(job)


def test_what_was_typed_about_fitting_stays(hands, job, arrived):
    status, text = fit(hands, job, need=arrived, late="forgotten")
    assert status == 409
    assert "done_at is missing" in text
    assert '<option value="forgotten" selected>' in text


def test_a_part_is_fitted_from_outside_and_told_late(hands, bench, job, arrived):
    assert fit(hands, job, need=arrived, where="from_outside")[0] == 302
    [row] = bench.traveller(job).record.of_type("part_fitted")
    assert row.data["from_outside"] is True


def test_a_part_goes_in_by_its_button_alone_once_it_is_proved_dead(hands, bench, job, arrived):
    bench.open_up(job)
    assert fit(hands, job, need=arrived)[0] == 302
    assert bench.kinds(job)[-1] == "part_fitted"


def test_typed_work_comes_back_with_the_refusal(hands, bench):
    number = bench.receive(facts=amplifier())
    posted = {"work": "relay-cleaned", "minutes": "25", "note": "left one", "where": "board_out"}
    bench.limited(number)
    answer = hands.post(reverse("record", args=[number, "work_done"]), posted)
    text = flat(answer.content.decode())
    assert answer.status_code == 409
    assert "Mains is on. Take it off before work is done." in text
    for typed in ('value="25"', "left one", '<option value="board_out" selected>'):
        assert typed in text
