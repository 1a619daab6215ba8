"""The button that undoes a signature: in the card that follows, with and without htmx."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone

from tests.helpers import flat

KEY = "visual-intake"
NOW = timezone.now()


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


def sign(hands, job, **how):
    return hands.post(reverse("sign", args=[job, KEY]), {"result": "pass"}, **how)


def button(bench, job):
    row = bench.job(job).ledger.filter(event_type="step_signed").last()
    return reverse("undo", args=[job, row.sequence])


@pytest.mark.parametrize("how", [{"headers": {"HX-Request": "true"}}, {"follow": True}])
def test_it_stands_in_the_next_card_and_takes_the_signature_back(hands, bench, job, how):
    text = sign(hands, job, **how).content.decode()
    assert f'action="{button(bench, job)}"' in text
    answer = hands.post(button(bench, job), **how)
    text = flat(answer.content.decode())
    assert "Undone:" in text
    assert f'name="step" value="{KEY}"' in text
    assert bench.state(job, KEY) == "due"


def test_after_ten_seconds_it_is_gone_and_the_server_refuses_with_another_way(hands, bench, job):
    with time_machine.travel(NOW, tick=False) as clock:
        sign(hands, job)
        path = button(bench, job)
        clock.shift(timedelta(seconds=11))
        assert path not in hands.get(reverse("job", args=[job])).content.decode()
        answer = hands.post(path)
    assert answer.status_code == 409
    text = flat(answer.content.decode())
    assert "The ten seconds are over" in text
    assert bench.state(job, KEY) == "signed"


def test_a_page_from_before_mains_came_on_undoes_nothing(hands, bench, job):
    bench.clear(job, "limited")
    sign(hands, job)
    path = button(bench, job)
    bench.power(job, "limited")
    answer = hands.post(path)
    assert answer.status_code == 409
    assert "Something followed it" in answer.content.decode()
    assert bench.job(job).power == "limited"


def test_another_person_sees_no_button_and_is_refused(client, people, bench, job):
    bench.sign(job, KEY)
    client.force_login(people.owner)
    assert button(bench, job) not in client.get(reverse("job", args=[job])).content.decode()
    assert client.post(button(bench, job)).status_code == 409
    client.force_login(people.viewer)
    assert client.post(button(bench, job)).status_code == 403
    assert client.get(button(bench, job)).status_code == 405
    assert bench.state(job, KEY) == "signed"
