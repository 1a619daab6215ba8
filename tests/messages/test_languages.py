"""A message is in the language of its customer, and the shop's own words count for theirs alone."""

from __future__ import annotations

import re

import pytest
from django.apps import apps
from django.core import mail
from django.db import connection
from django.db.migrations import RunPython
from django.db.migrations.loader import MigrationLoader
from django.urls import reverse
from django.utils import timezone, translation

from shop.customers.models import Customer, Intake
from shop.messages import composing, message_templates, sending, writing
from shop.messages.models import Message, MessageTemplate
from shop.preferences.languages import NAMES
from tests.helpers import amplifier
from tests.translated import say

pytestmark = pytest.mark.django_db
GERMAN = {
    "Hello {customer},": "Guten Tag {customer},",
    "Your {unit} is here (job {job})": "Ihr Gerät ist da: {unit} (Auftrag {job})",
    "About your {unit} (job {job})": "Zu Ihrem Gerät: {unit} (Auftrag {job})",
    "Where it is, at any time, and a place for questions:\n{link}": "Wo es ist:\n{link}",
}


@pytest.fixture(autouse=True)
def post(settings, monkeypatch):
    settings.MAIL_ON = True
    settings.SHOP_NAME = "Tin Lane"
    say(monkeypatch, "de", GERMAN)


@pytest.fixture
def job(bench):
    return bench.job(bench.receive(make="Corvenby", model="C 4", facts=amplifier()))


@pytest.fixture
def customer(job):
    def of(language):
        found = Customer.objects.create(
            name="Ada", email="ada@example.org", agreed_to_mail_at=timezone.now(), language=language
        )
        Intake.objects.update_or_create(job=job, defaults={"customer": found})
        return found

    return of


def received(job):
    composing.write(job, "received", f"received/{Message.objects.count()}", now=timezone.now())
    return Message.objects.latest("pk")


def test_the_default_in_the_language_of_the_customer(job, customer):
    customer("de")
    german = received(job)
    assert german.subject == f"Ihr Gerät ist da: Corvenby C 4 (Auftrag {job.number})"
    assert german.text.startswith("Guten Tag Ada,\n\n")
    assert re.search(r"Wo es ist:\n\S+/your-unit/\S+\n\nTin Lane$", german.text)
    customer("en")
    assert received(job).text.startswith("Hello Ada,\n\n")
    assert translation.get_language() == "en"


def test_the_language_of_the_shops_customers_for_who_has_none(job, customer, settings):
    customer("")
    assert received(job).text.startswith("Hello")
    settings.CUSTOMERS_LANGUAGE = "de"
    assert received(job).text.startswith("Guten Tag")


def test_the_shops_own_words_count_for_their_language(job, customer, people):
    message_templates.save("received", "Da", "Es ist da.", by=people.desk, language="de")
    customer("de")
    assert received(job).text == "Es ist da."
    customer("en")
    assert received(job).text.startswith("Hello Ada")
    message_templates.save("received", "Here", "It is here.", by=people.desk, language="en")
    assert received(job).text == "It is here."
    message_templates.reset("received", by=people.desk, language="de")
    assert [one.language for one in MessageTemplate.objects.all()] == ["en"]


def test_ones_own_words_with_subject_and_link_in_the_language(job, customer, people):
    customer("de")
    writing.write(job, "Der Lautsprecher?", key="page-12345", by=people.desk, at=timezone.now())
    assert sending.deliver(now=timezone.now()) == 1
    [letter] = mail.outbox
    assert letter.subject == f"Zu Ihrem Gerät: Corvenby C 4 (Auftrag {job.number})"
    assert letter.body.startswith("Der Lautsprecher?\n\nWo es ist:\n")
    html = letter.alternatives[0][0]
    assert '<html lang="de">' in html


@pytest.mark.parametrize("language", NAMES)
def test_the_defaults_of_every_language_can_be_kept_and_filled(language):
    with translation.override(language):
        values = composing.example_values(timezone.now())
        for about in message_templates.DEFAULTS:
            words = message_templates.template_for(about)
            message_templates.validate(words.subject, words.text)
            assert "{" not in message_templates.fill(words.subject + words.text, values)


@pytest.mark.parametrize("about", message_templates.DEFAULTS)
@pytest.mark.parametrize("language", [one for one in NAMES if one != "en"])
def test_a_translation_names_what_the_english_names(language, about):
    def named():
        words = message_templates.template_for(about)
        return sorted(set(re.findall(r"\{\w+\}", words.subject + words.text)))

    english = named()
    with translation.override(language):
        assert named() == english


class TestPage:
    @pytest.fixture
    def path(self, client, people):
        client.force_login(people.desk)
        return reverse("wording", args=["received"])

    def test_it_opens_in_the_language_of_the_shops_customers(self, client, path, settings):
        assert "Hello {customer}," in client.get(path).content.decode()
        settings.CUSTOMERS_LANGUAGE = "de"
        text = client.get(path).content.decode()
        assert "Guten Tag {customer}," in text
        assert '<html lang="en"' in text
        assert '<p lang="de"><strong>Ihr Gerät ist da: Ravelund Thatch 30' in text

    def test_words_are_kept_and_go_for_one_language(self, client, path):
        path = f"{path}?language=fr"
        body = {"subject": "Arrivé", "text": "{owed} {warranty}", "act": "look"}
        assert "<strong>Arrivé</strong>" in client.post(path, body).content.decode()
        assert not MessageTemplate.objects.exists()
        kept = client.post(path, body | {"act": "keep"}, follow=True)
        assert kept.redirect_chain[-1][0] == path
        assert MessageTemplate.objects.get().language == "fr"
        assert "Back to the standard wording" in kept.content.decode()
        other = client.get(path.replace("=fr", "=de")).content.decode()
        assert "Back to the standard wording" not in other
        client.post(path, {"act": "usual"})
        assert not MessageTemplate.objects.exists()

    def test_a_language_that_there_is_not(self, client, path):
        assert client.get(f"{path}?language=tlh").status_code == 404


def test_words_from_before_are_in_the_language_of_the_shops_customers(settings):
    migration = MigrationLoader(connection).get_migration("post", "0004_language_of_templates")
    move = next(one.code for one in migration.operations if isinstance(one, RunPython))
    MessageTemplate.objects.create(about="ready", subject="x", text="y")
    move(apps, None)
    assert MessageTemplate.objects.get().language == "en"
    settings.CUSTOMERS_LANGUAGE = "nl"
    move(apps, None)
    assert MessageTemplate.objects.get().language == "nl"
