"""A message in one's own words: by which way it goes, once, and what the record says of it."""

from __future__ import annotations

import json

import pytest
from django.core import mail
from django.urls import reverse
from django.utils import timezone

from shop.customers.models import Customer, Intake
from shop.lib.refusals import BadInput, Forbidden, Refused
from shop.messages import sending, writing
from shop.messages.models import Message
from tests.helpers import amplifier

pytestmark = pytest.mark.django_db
KEY = "page-12345"


@pytest.fixture(autouse=True)
def post(settings):
    settings.MAIL_ON = True
    settings.SHOP_NAME = "Tin Lane"


@pytest.fixture
def number(bench):
    return bench.receive(make="Corvenby", model="C 4", facts=amplifier())


@pytest.fixture
def of(number, bench):
    def give(**details):
        given = {"name": "Ада", "email": "ada@example.org", "agreed_to_mail_at": timezone.now()}
        customer = Customer.objects.create(**given | details)
        Intake.objects.update_or_create(job_id=number, defaults={"customer": customer})
        return bench.job(number)

    return give


def wrote(job, people, words="The dial lamp is hard to find. {total}", key=KEY):
    return writing.write(job, words, key=key, by=people.desk, at=timezone.now())


def test_by_e_mail_at_once_with_the_link_to_answer_and_the_words_as_typed(of, people, bench):
    job = of()
    wrote(job, people)
    assert sending.deliver(now=timezone.now()) == 1
    [letter] = mail.outbox
    assert letter.subject == f"About your Corvenby C 4 (job {job.number})"
    assert letter.body.startswith("The dial lamp is hard to find. {total}\n\n")
    assert "/your-unit/" in letter.body
    assert letter.body.endswith("Tin Lane")
    row = job.ledger.get(event_type="owner_told")
    assert row.data == {"about": "message", "way": "e-mail"}


@pytest.mark.parametrize(
    "details",
    [
        {"contact_by": "telephone", "phone": "0815"},
        {"contact_by": "letter", "address": "4 Tin Lane"},
        {"agreed_to_mail_at": None},
        {"email": "", "phone": "0815"},
    ],
)
def test_who_did_not_agree_to_e_mail_is_told_by_a_person(of, people, details):
    job = of(**details)
    message = wrote(job, people)
    assert (message.way, sending.deliver(now=timezone.now())) == ("hand", 0)
    assert not job.ledger.filter(event_type="owner_told").exists()
    sending.mark_done(message, by=people.desk, at=timezone.now())
    assert job.ledger.get(event_type="owner_told").data["about"] == "message"


def test_without_a_mail_server_a_person_tells_it(of, people, settings):
    settings.MAIL_ON = False
    assert wrote(of(), people).way == "hand"


def test_sent_twice_from_one_page_it_is_one_message(of, people):
    job = of()
    first, again = wrote(job, people), wrote(job, people, "other words")
    assert (again.pk, again.text) == (first.pk, first.text)
    wrote(job, people, "from another page", key="page-67890")
    assert Message.objects.count() == 2


def test_who_cannot_be_reached_is_named(of, number, bench, people):
    with pytest.raises(Refused, match="Nobody is on record"):
        wrote(bench.job(number), people)
    with pytest.raises(Refused, match="Ада has neither"):
        wrote(of(email=""), people)
    assert not Message.objects.exists()


@pytest.mark.parametrize("words", ["", "  \n ", "x" * 4001])
def test_words_that_cannot_be_taken(of, people, words):
    with pytest.raises(BadInput, match="text"):
        wrote(of(), people, words)


@pytest.mark.parametrize("key", ["", "short", "a b c d e f g h", "х" * 10, "x" * 41])
def test_a_key_of_no_page(of, people, key):
    with pytest.raises(BadInput, match="key is not of this page"):
        wrote(of(), people, key=key)


def test_whoever_only_reads_writes_to_nobody(of, people):
    with pytest.raises(Forbidden):
        writing.write(of(), "x", key=KEY, by=people.viewer, at=timezone.now())


class TestPage:
    def test_it_is_written_on_the_customers_side(self, of, people, client):
        job = of()
        client.force_login(people.desk)
        path, side = (
            reverse(name, args=[job.number]) for name in ("customer-write", "customer-side")
        )
        assert "It goes by e-mail" in client.get(side).content.decode()
        assert client.post(path, {"words": "Grüße", "key": KEY}).status_code == 302
        assert "Grüße" in client.get(side).content.decode()
        assert client.get(path).status_code == 405

    def test_refused_words_come_back(self, of, people, client):
        job = of(email="")
        client.force_login(people.desk)
        path = reverse("customer-write", args=[job.number])
        answer = client.post(path, {"words": "my words", "key": KEY})
        assert answer.status_code == 409
        assert "my words" in answer.content.decode()
        assert KEY in answer.content.decode()


class TestApi:
    def test_write_and_list(self, of, people, client):
        job = of()
        client.force_login(people.desk)
        path = f"/api/v1/jobs/{job.number}/messages/"
        headers = {"Idempotency-Key": "once-only-1"}
        body = json.dumps({"text": "It waits for a lamp."})
        for _ in range(2):
            answer = client.post(path, body, "application/json", headers=headers)
            assert (answer.status_code, answer.json()["way"]) == (201, "email")
        [listed] = client.get(path).json()
        assert listed["text"].startswith("It waits for a lamp.")
        assert client.post(path, "{}", "application/json").status_code == 422

    def test_nobody_on_record(self, number, people, client):
        client.force_login(people.desk)
        answer = client.post(
            f"/api/v1/jobs/{number}/messages/", json.dumps({"text": "x"}), "application/json"
        )
        assert (answer.status_code, answer.json()["codes"]) == (409, ["nobody"])
