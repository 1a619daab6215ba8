"""Setting an outlet up, and the walk through its test."""

from __future__ import annotations

import pytest
from django.urls import reverse

from shop.outlets import claims, passwords
from shop.outlets.commissioning import ELECTRICIAN, QUESTIONS
from shop.outlets.models import COMMISSIONED, REPORTS, UNDER_TEST, Commissioning, Outlet
from tests.helpers import flat

pytestmark = pytest.mark.django_db
MQTT = {
    "name": "B2",
    "kind": "mqtt",
    "host": "broker.example.org",
    "port": "8883",
    "least_watts": "0.5",
    "topic": "/bench/b2/",
    "username": "shop",
    "password": "a word",
    "tls": "on",
}
RIGHT = {one.key: one.right for one in QUESTIONS} | {ELECTRICIAN: "R. Volkova, 3 May"}


@pytest.fixture
def owner(client, people, set_up):
    client.force_login(people.owner)
    return client


def commission(client, outlet, body):
    return client.post(reverse("outlet-commissioning", args=[outlet.pk]), body)


def test_an_outlet_is_written_down_and_its_password_sealed(owner):
    assert owner.post(reverse("outlets"), MQTT).status_code == 302
    kept = Outlet.objects.get()
    assert (kept.topic, kept.use, kept.least_watts) == ("bench/b2", REPORTS, 0.5)
    assert passwords.opened(kept) == "a word"
    assert "a word" not in kept.sealed_password
    page = owner.get(reverse("outlet", args=[kept.pk])).content.decode()
    assert "a word" not in page
    assert kept.sealed_password not in page


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"topic": ""}, "topic"),
        ({"topic": "bench/#"}, "topic is"),
        ({"topic": "bench/+/b"}, "topic is"),
        ({"port": "0"}, "port is 0; it must be from 1 to 65535"),
        ({"port": "ten"}, "whole number"),
        ({"least_watts": "0"}, "least_watts is 0"),
        ({"authority": "not a certificate"}, "authority holds no certificate"),
        ({"kind": "radio"}, "valid choice"),
        ({"name": ""}, "required"),
        ({"host": ""}, "required"),
    ],
)
def test_bad_input_is_named_and_nothing_is_lost(owner, wrong, said):
    answer = owner.post(reverse("outlets"), MQTT | wrong)
    assert answer.status_code == 422
    page = flat(answer.content.decode())
    assert said in page
    assert "shop" in page
    assert not Outlet.objects.exists()


def test_a_name_in_use_is_said(owner):
    owner.post(reverse("outlets"), MQTT)
    assert "another outlet has it" in owner.post(reverse("outlets"), MQTT).content.decode()


@pytest.mark.parametrize("name", ["Розетка 1", "コンセント", "प्लग", "مقبس", "插座 2", "Prize Ω"])
def test_names_of_any_script(owner, name):
    assert owner.post(reverse("outlets"), MQTT | {"name": name}).status_code == 302
    assert name in owner.get(reverse("outlets")).content.decode()


def test_another_connection_ends_its_test(owner, outlet):
    same = {
        "name": "B1",
        "kind": "modbus",
        "host": "b1",
        "port": "502",
        "least_watts": "2",
        "tls": "on",
    }
    change = reverse("outlet-change", args=[outlet.pk])
    owner.post(change, same)
    outlet.refresh_from_db()
    assert (outlet.use, outlet.edition) == (COMMISSIONED, 1)
    owner.post(change, same | {"host": "b7"})
    outlet.refresh_from_db()
    assert (outlet.use, outlet.edition) == (REPORTS, 2)


def test_an_empty_password_keeps_the_one_before(owner):
    owner.post(reverse("outlets"), MQTT)
    kept = Outlet.objects.get()
    owner.post(reverse("outlet-change", args=[kept.pk]), MQTT | {"password": ""})
    kept.refresh_from_db()
    assert passwords.opened(kept) == "a word"


def test_the_words_are_loud_on_every_page(owner, outlet):
    names = [("outlets", []), ("outlet", [outlet.pk]), ("outlet-commissioning", [outlet.pk])]
    for name, args in names:
        page = flat(owner.get(reverse(name, args=args)).content.decode())
        assert "This is no safety function." in page
        assert "residual-current device" in page
        assert "Local codes and licensed practice come first." in page


def test_the_walk_commissions_what_answers_right(owner, outlet, report):
    Outlet.objects.update(use=REPORTS)
    commission(owner, outlet, {"act": "begin"})
    outlet.refresh_from_db()
    assert outlet.use == UNDER_TEST
    report(watts=0.0, enabled=True, closed=False)
    assert commission(owner, outlet, RIGHT | {"act": "finish"}).status_code == 302
    outlet.refresh_from_db()
    assert outlet.use == COMMISSIONED
    assert Commissioning.objects.get().answers == RIGHT


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda one: one.key)
def test_one_wrong_answer_and_it_is_refused(owner, outlet, report, question):
    Outlet.objects.update(use=UNDER_TEST)
    report(enabled=True)
    wrong = "no" if question.right == "yes" else "yes"
    commission(owner, outlet, RIGHT | {question.key: wrong})
    outlet.refresh_from_db()
    assert outlet.use == REPORTS
    assert not Commissioning.objects.get().passed
    page = flat(owner.get(reverse("outlet-commissioning", args=[outlet.pk])).content.decode())
    assert "refused" in page
    assert question.wrong in page


def test_an_outlet_that_restores_itself_is_refused_in_these_words():
    restoring = [one.wrong for one in QUESTIONS if "restores itself" in one.wrong]
    assert len(restoring) == 4


@pytest.mark.parametrize("missing", [QUESTIONS[0].key, QUESTIONS[-1].key, ELECTRICIAN])
def test_every_question_is_answered(owner, outlet, report, missing):
    Outlet.objects.update(use=UNDER_TEST)
    report(enabled=True)
    body = {key: value for key, value in RIGHT.items() if key != missing}
    answer = commission(owner, outlet, body)
    assert answer.status_code == 422
    assert missing in flat(answer.content.decode())
    assert not Commissioning.objects.exists()
    outlet.refresh_from_db()
    assert outlet.use == UNDER_TEST


def test_an_outlet_that_nobody_hears_is_not_commissioned(owner, outlet, report):
    Outlet.objects.update(use=UNDER_TEST)
    report(enabled=True, ago=60)
    answer = commission(owner, outlet, RIGHT)
    assert answer.status_code == 409
    assert "has not reported whether it is enabled" in answer.content.decode()


def test_a_test_that_was_not_begun_is_not_recorded(owner, outlet, report):
    Outlet.objects.update(use=REPORTS)
    report(enabled=True)
    assert commission(owner, outlet, RIGHT).status_code == 409
    assert Outlet.objects.get().use == REPORTS


@pytest.mark.parametrize("without", ["tls", "username", "password"])
def test_a_connection_without_rights_is_not_tested(owner, without):
    owner.post(reverse("outlets"), {k: v for k, v in MQTT.items() if k != without})
    kept = Outlet.objects.get()
    answer = commission(owner, kept, {"act": "begin"})
    assert answer.status_code == 409
    kept.refresh_from_db()
    assert kept.use == REPORTS


def test_only_reporting_is_one_button_away(owner, outlet):
    owner.post(reverse("outlet-change", args=[outlet.pk]), {"act": "only-report"})
    outlet.refresh_from_db()
    assert outlet.use == REPORTS


def test_the_label_holds_its_address(owner, outlet):
    page = owner.get(reverse("outlet-label", args=[outlet.pk])).content.decode()
    assert f"http://127.0.0.1:8000/outlets/{outlet.pk}/" in page
    assert "<svg" in page


def test_nothing_about_a_drop_out_is_in_the_ledger(owner, outlet, report, job, bench, people, now):
    claims.claim(outlet.pk, job, by=people.technician, at=now)
    bench.limited(job)
    rows = bench.job(job).ledger.count()
    report(watts=0.0, enabled=False, closed=False, withheld="The answer took too long.")
    owner.post(reverse("outlet-leave", args=[outlet.pk]))
    assert bench.job(job).ledger.count() == rows
    assert bench.job(job).power == "limited"
