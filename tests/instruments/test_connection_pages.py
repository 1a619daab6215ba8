from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from shop.instruments import asking
from shop.instruments.models import Connection, Request

pytestmark = pytest.mark.django_db
ADDRESS = "TCPIP::192.168.1.20::5025::SOCKET"
TYPED = {"resource": ADDRESS, "baud": "9600", "can-dc-voltage": "on", "ask-dc-voltage": ""}


@pytest.fixture
def owner(client, people):
    client.force_login(people.owner)
    return client


@pytest.fixture
def where(clamp):
    return reverse("instrument-connection", args=[clamp.pk])


def end(state=Request.DONE, **outcome):
    asked = asking.take_next(timezone.now())
    assert asking.end(asked, state, **outcome)
    return asked


def asked_page(owner, clamp, asked):
    where = reverse("instrument-connection-asked", args=[clamp.pk])
    return owner.get(where, {"of": asked.pk}, headers={"HX-Request": "true"})


def test_it_is_kept_and_tested_at_once_by_the_worker(owner, clamp, where):
    assert owner.post(where, TYPED).status_code == 302
    kept = Connection.objects.get()
    assert (kept.resource, kept.commands, kept.tested) == (ADDRESS, {"dc-voltage": ""}, False)
    page = owner.get(where).content.decode()
    assert "Not connected" in page
    assert "Asking it" in page
    assert f'value="{ADDRESS}"' in page


def test_what_it_answered_is_shown(owner, clamp, where):
    owner.post(where, TYPED)
    end(said="ORRERY,BM 2", found=[["d.c. voltage", "1.2 mV"]])
    Connection.objects.update(identity="ORRERY,BM 2", tested_at=timezone.now())
    page = owner.get(where).content.decode()
    assert "It answers as <b>ORRERY,BM 2</b>" in page
    assert "1.2 mV" in page


def test_a_page_that_waits_looks_again_and_comes_anew_with_the_answer(owner, clamp, where):
    owner.post(where, TYPED)
    asked = Request.objects.get()
    assert "Asking it" in asked_page(owner, clamp, asked).content.decode()
    end(Request.FAILED, said="It did not answer in time.")
    assert asked_page(owner, clamp, asked)["HX-Refresh"] == "true"
    assert "It did not answer in time." in owner.get(where).content.decode()


def test_a_worker_that_does_not_run_is_told(owner, clamp, where):
    owner.post(where, TYPED)
    Request.objects.update(until=timezone.now() - timedelta(seconds=1))
    assert "The worker did not take it" in owner.get(where).content.decode()


def test_what_is_found_fills_the_form_by_a_tap(owner, clamp, where):
    owner.post(where, {"act": "find"})
    end(found=[[ADDRESS, "ORRERY,BM 2"], ["ASRL/dev/ttyUSB0::INSTR", ""]])
    page = owner.get(where).content.decode()
    assert "ORRERY,BM 2" in page
    assert f'value="{ADDRESS}"' in owner.get(where, {"resource": ADDRESS}).content.decode()


def test_nothing_found_says_what_to_do(owner, clamp, where):
    owner.post(where, {"act": "find"})
    end(found=[])
    assert "type the address" in owner.get(where).content.decode()


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"resource": ""}, "This field is required"),
        ({"resource": "192.168.1.20"}, "write it like TCPIP::"),
        ({"resource": "Прибор"}, "write it like TCPIP::"),
        ({"baud": "7"}, "Select a valid choice"),
        ({"can-dc-voltage": ""}, "tick what it reads"),
        ({"ask-dc-voltage": "*RST"}, "must be a query of SCPI"),
    ],
)
def test_what_cannot_be_is_named_and_what_was_typed_stays(owner, clamp, where, given, said):
    answer = owner.post(where, {k: v for k, v in (TYPED | given).items() if v or k == "resource"})
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not Connection.objects.exists()
    assert not Request.objects.exists()


def test_a_test_without_a_connection_is_refused(owner, clamp, where):
    assert owner.post(where, {"act": "test"}).status_code == 409


def test_a_second_test_waits_for_the_first(owner, clamp, where):
    owner.post(where, TYPED)
    answer = owner.post(where, {"act": "test"})
    assert answer.status_code == 409
    assert "being asked already" in answer.content.decode()


def test_another_address_is_another_instrument_until_it_is_tested(owner, clamp, where):
    owner.post(where, TYPED)
    end()
    Connection.objects.update(identity="ORRERY,BM 2")
    owner.post(where, TYPED | {"resource": "TCPIP::192.168.1.21::5025::SOCKET"})
    assert not Connection.objects.get().tested


def test_it_is_taken_off(owner, clamp, where):
    owner.post(where, TYPED)
    owner.post(where, {"act": "drop"})
    assert not Connection.objects.exists()
