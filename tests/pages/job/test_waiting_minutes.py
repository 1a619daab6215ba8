"""The wait after a discharge, as the clock on the card offers it."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tests.helpers import amplifier, flat

pytestmark = pytest.mark.django_db

STEP = "discharge-reservoirs"


def page_of(client, people, number, key=STEP):
    client.force_login(people.technician)
    return flat(client.get(reverse("step", args=[number, key])).content.decode())


@pytest.mark.parametrize(
    ("volts", "microfarads", "minutes"),
    [
        # 75 V and 10,000 uF: at least 150 ohm keeps the start below 0.5 A, so RC is 1.5 s, and
        # 1.5 s x ln(75 / 10) = 3.0 s; with the minute before the second look 2 whole minutes.
        (75.0, 10_000.0, 2),
        # 100 V and 150,000 uF: 200 ohm would do, E6 has 220, so RC is 33 s, x ln(100 / 10) = 76 s;
        # with the minute 136 s, 3 whole minutes.
        (100.0, 150_000.0, 3),
    ],
)
def test_the_minutes_come_from_the_plan(client, people, bench, volts, microfarads, minutes):
    facts = amplifier(unit__rail_volts=volts, unit__reservoir_uf=microfarads)
    number = bench.receive(facts=facts)
    text = page_of(client, people, number)
    assert f'name="minutes" value="{minutes}"' in text
    assert "By the discharge plan" in text
    assert text.index('value="discharge"') < text.index('value="trial"')


def test_without_the_figures_of_the_plan_nothing_is_said_of_it(client, people, bench):
    number = bench.receive(facts=amplifier(unit__reservoir_uf=None))
    text = page_of(client, people, number)
    assert 'name="minutes" value="10"' in text
    assert "By the discharge plan" not in text


def test_a_step_without_a_discharge_offers_the_usual_minutes(client, people, bench):
    number = bench.receive(facts=amplifier())
    text = page_of(client, people, number, "visual-intake")
    assert "By the discharge plan" not in text
    assert text.index('value="trial"') < text.index('value="discharge"')
