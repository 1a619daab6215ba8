"""The shop's own pages speak the language of the settings; programs, record and customers do not."""

from __future__ import annotations

import json

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shop.jobs import queries
from shop.jobs.models import Job
from shop.lib import languages
from shop.preferences import changing
from shop.preferences.languages import NAMES
from tests.project import pack_catalogue
from tests.project.catalogues import TEMPLATE, po, read
from tests.translated import say

pytestmark = pytest.mark.django_db


@pytest.fixture
def german(monkeypatch, settings):
    say(monkeypatch, "de", {"Messages": "Nachrichten", "Sign in": "Anmelden"})
    settings.PAGES_LANGUAGE = "de"


@pytest.fixture
def owner(client, people):
    client.force_login(people.owner)
    return client


def test_english_unless_somebody_decides(owner):
    text = owner.get(reverse("outbox"), headers={"accept-language": "de"}).content.decode()
    assert '<html lang="en"' in text


def test_pages_speak_it_whoever_asks(owner, monkeypatch, people):
    say(monkeypatch, "de", {"Messages": "Nachrichten"})
    changing.change({"pages_language": "de"}, by="owner", at=timezone.now())
    text = owner.get(reverse("outbox"), headers={"accept-language": "fr"}).content.decode()
    assert '<html lang="de"' in text
    assert "Nachrichten" in text


def test_the_page_of_the_sign_in_too(client, german):
    assert "Anmelden" in client.get(reverse("sign-in")).content.decode()


def test_programs_are_answered_in_english(owner, german, monkeypatch):
    sentence = "{field} holds a control character; write plain text."
    say(monkeypatch, "de", {sentence: "{field} ist kein Text."})
    body = json.dumps({"make": "a\x07"})
    answer = owner.post("/api/v1/announced/", body, content_type="application/json")
    assert answer.status_code == 422
    assert answer.json()["reason"] == "make holds a control character; write plain text."


def test_a_customer_reads_their_own(german, bench, job, now):
    answer = Client(headers={"accept-language": "fr"}).get(reverse("your-unit", args=["1-a.b"]))
    assert answer["Content-Language"] == "fr"


def test_what_is_kept_is_english(owner, german, job, monkeypatch):
    before = Job.objects.get(pk=job).next_title
    say(monkeypatch, "de", {before: "Anders"})
    owner.post(reverse("record", args=[job, "note_added"]), {"text": "a note"})
    kept = Job.objects.get(pk=job)
    assert queries.rows_of(kept)[-1].data["text"] == "a note"
    assert kept.next_title == before


def test_the_settings_say_how_much_each_language_has(owner):
    text = owner.get(reverse("settings")).content.decode()
    assert "English: 100 % of the words" in text
    for language in NAMES:
        percent = languages.percent_translated(language)
        assert f"{NAMES[language]}: {percent} % of the words" in text


@pytest.mark.parametrize("language", [name for name in NAMES if name != "en"])
def test_the_share_is_that_of_the_catalogues(language):
    every = [message for message in read(TEMPLATE) if message.id]
    # A safety text that nobody has read is on no page, and does not count.
    compiled = pack_catalogue.as_compiled(read(po(language), language))
    done = [one for one in compiled if one.id and one.string]
    assert languages.percent_translated(language) == 100 * len(done) // len(every)
