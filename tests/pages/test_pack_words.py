"""Pages in another language: the pack is translated, its safety texts are not until they were read."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.urls import reverse

from checklists import published
from checklists.engine import wording
from checklists.engine.wording import is_guarding
from shop.jobs import queries
from shop.jobs.models import Job
from tests.helpers_languages import spoken
from tests.helpers_pack_words import pseudo, speak, translated
from tests.helpers_pages import addresses
from tests.project.escaping import read_outside_of_quotes

pytestmark = pytest.mark.django_db

NOTE = "Safety texts stay in English until a technician has read their translation."
# Pages that show words of the pack.
SHOWING = [
    "bench",
    "jobs",
    "traveller",
    "unknown-unit",
    "step",
    "list",
    "write",
    "unit",
    "causes",
    "look-up",
    "ledger",
    "rules",
    "rule",
    "why",
    "why-not",
    "backlog",
    "photos",
    "manuals",
    "trials",
    "soak",
    "model",
]
# Shorter ones are words that people and other texts use too.
LONG = 20


@pytest.fixture
def technician(client, people):
    client.force_login(people.technician)
    return client


@pytest.fixture
def german(settings, tmp_path):
    speak(settings, tmp_path, translated())
    settings.PAGES_LANGUAGE = "de"


@pytest.fixture
def held():
    return published.shipped().steps["unplugged-lead-in-sight"]


def _step_page(client, job, key):
    return client.get(reverse("step", args=[job, key])).content.decode()


@pytest.mark.long
def test_no_word_of_the_pack_escapes_translation(demo_shop, client, settings, monkeypatch):
    by = User.objects.get(username="owner")
    client.force_login(by)
    pages = addresses(by)
    texts = {one.text for one in wording.of_pack(published.shipped()) if len(one.text) > LONG}
    settings.PAGES_LANGUAGE = "de"
    spoken(monkeypatch, "de")
    escaped = {
        name: [words for words in found if any(text in words for text in texts)]
        for name in SHOWING
        for found in [read_outside_of_quotes(client.get(pages[name]).content.decode())]
    }
    assert {name: words for name, words in escaped.items() if words} == {}


def test_an_english_page_says_nothing_of_translations(technician, job, held):
    page = _step_page(technician, job, held.key)
    assert held.instruction in page
    assert NOTE not in page
    assert "not-read" not in page


def test_a_safety_text_is_in_english_and_the_page_says_why_once(technician, job, german, held):
    page = _step_page(technician, job, held.key)
    assert f'<span lang="en" class="not-read">{held.title}</span>' in page
    assert pseudo(held.instruction) not in page
    assert page.count(NOTE) == 1


def test_one_that_a_technician_has_read_is_translated(technician, job, settings, tmp_path, held):
    speak(settings, tmp_path, translated(read_by="Ada Example"))
    settings.PAGES_LANGUAGE = "de"
    page = _step_page(technician, job, held.key)
    assert pseudo(held.instruction) in page
    assert 'class="not-read"' not in page


def test_titles_of_service_steps_and_words_of_facts_are_translated(technician, job, german):
    page = technician.get(reverse("job-unit", args=[job])).content.decode()
    assert pseudo("Kind of unit") in page
    assert pseudo("integrated amplifier") in page
    service = next(s for s in published.shipped().steps.values() if not is_guarding(s))
    rule = technician.get(reverse("rule-step", args=[service.key])).content.decode()
    assert f"<h1>{pseudo(service.title)}</h1>" in rule
    assert service.instruction in rule


def test_the_list_is_found_by_its_words_in_either_language(technician, german):
    service = next(s for s in published.shipped().steps.values() if not is_guarding(s))
    for typed in (service.title, pseudo(service.title)):
        page = technician.get(reverse("rules"), {"q": typed}).content.decode()
        assert pseudo(service.title) in page


def test_what_is_stored_and_sent_stays_english(technician, job, german, held):
    listed = queries.Traveller.of(Job.objects.get(pk=job)).checklist.by_key[held.key]
    address = reverse("sign", args=[job, held.key])
    typed = {"result": "pass", "substance": listed.content_hash, "step": held.key}
    technician.post(address, typed)
    [row] = [r for r in queries.rows_of(Job.objects.get(pk=job)) if r.event_type == "step_signed"]
    assert row.data["title"] == held.title
    assert "«" not in str(row.data)
    assert "«" not in Job.objects.get(pk=job).next_title
    answer = technician.get(f"/api/v1/jobs/{job}/checklist/")
    assert answer.status_code == 200
    assert "«" not in answer.content.decode()
