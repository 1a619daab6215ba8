"""No words of the shop's pages escape a catalogue, and none of a catalogue comes into the record."""

from __future__ import annotations

import re

import pytest
from django.db import transaction
from django.urls import reverse
from django.utils import translation
from django.utils.translation import gettext

from shop.demo import units
from shop.jobs.models import Job
from tests.helpers_demo import the_models
from tests.helpers_languages import spoken
from tests.helpers_pages import addresses
from tests.project import escaping
from tests.project.escaping import LANGUAGE

CUSTOMERS = ("your-unit", "announce")  # they speak the customer's language
OF_THE_SHOP = (
    *("settings", "people", "instruments", "outlets", "import", "export", "bills", "owed"),
    *("calendar", "webhooks", "push", "tokens", "sign-ins", "offline"),
)
OF_A_JOB = ("job", "job-list", "job-unit", "job-bills", "job-outlet", "clocks")
ENTRIES = ("finding_recorded", "trial_run", "note_added", "promise_made", "suspect_changed")
# Pages with a refusal: the name of the address, what it is of, and what is sent.
REFUSED = (
    ("receive", None, {"make": "", "unit.year": "12", "customer_email": "a"}),
    ("settings", None, {"workday_start_hour": "31", "closed_days": "x", "iban": "DE1"}),
    ("people-invite", None, {"name": "", "role": "x"}),
    ("suppliers", None, {"name": "", "postage": "a"}),
    ("instruments", None, {"name": ""}),
    ("outlets", None, {"name": "", "kind": "x", "port": "0"}),
    ("webhooks", None, {"address": "x"}),
    ("snooze", 0, {"topic": "stalled", "days": "0", "reason": ""}),
    ("stage", 3, {"to": "released"}),
    ("cover", 5, {"to": "off"}),
)
# What stays English for now.
ALLOWED = (
    # The engine is plain Python without a catalogue; what it says keeps hands safe.
    r"(.*\. )?Ended by .*",
    r".*(Take it off before|The cover is off|Mains comes through|this is done with power).*",
    r"any of|all of|not|,? ?at most .*",
    # Sentences that sums make with their figures, and their cautions.
    r"(It will settle at|The last reading is from|No condition was varied|Metal above) .*",
    r"will settle",
    # Words that the record keeps, told as they are.
    r"(.*; )?(confirmed|raised|ruled out);?|round: (look|work)|.*; (unit|\d+ min)",
    r": [a-z-]+(, [a-z-]+)*;?",
    # A bin and a search, by the names that they were given.
    r"arrivals|ravelnd",
)


def _pages(technician) -> dict[str, str]:
    """Return the address of every page that is looked at, by name."""
    found = addresses(technician)
    found = {name: path for name, path in found.items() if name not in CUSTOMERS}
    found |= {name: reverse(name) for name in OF_THE_SHOP}
    here = [job.number for job in Job.objects.filter(closed_at=None)]
    found |= {f"{name} {job}": reverse(name, args=[job]) for name in OF_A_JOB for job in here}
    write = reverse("job-write", args=[min(here)])
    # The ledger is the record itself.
    del found["ledger"]
    return found | {f"write {kind}": f"{write}?what={kind}" for kind in ENTRIES}


def _escaping(answer, known: list[str]) -> set[str]:
    """Return what escapes on a page and is not allowed to."""
    return {
        words
        for words in escaping.escaping(answer.content.decode(), known)
        if not any(re.fullmatch(pattern, words) for pattern in ALLOWED)
    }


@pytest.fixture
def in_quotes(settings, monkeypatch):
    """Let the pages speak a language that has every string, in quotes."""
    spoken(monkeypatch, LANGUAGE, escaping.known_strings())
    settings.PAGES_LANGUAGE = LANGUAGE


def test_no_words_of_a_page_escape(client, demo_shop, people, in_quotes):
    client.force_login(people.owner)
    pages = _pages(people.technician)
    known = escaping.on_record()
    found = {name: _escaping(client.get(path), known) for name, path in pages.items()}
    first = min(job.number for job in Job.objects.filter(closed_at=None))
    for name, job, body in REFUSED:
        path = reverse(name, args=[] if job is None else [first + job])
        answer = client.post(path, body)
        assert answer.status_code in (409, 422), name
        found[f"{name}, refused"] = _escaping(answer, known)
    assert {name: words for name, words in found.items() if words} == {}


@pytest.mark.slow
def test_the_record_stays_english_whatever_the_pages_speak(db, monkeypatch):
    spoken(monkeypatch, LANGUAGE)
    with transaction.atomic():
        with translation.override(LANGUAGE):
            assert gettext("Jobs") == "«Jobs»"
            units.write()
        stored = [row for model in the_models() for row in model._default_manager.values()]
        transaction.set_rollback(True)
    assert len(stored) > 100
    assert [row for row in stored if "«" in str(row)] == []


class TestTheFinder:
    """It finds what it has to, and nothing else."""

    @pytest.mark.parametrize(
        ("html", "found"),
        [
            ("<p>«Kept» and lost</p>", ["and lost"]),
            ("<p>«Kept <b>12</b> of» them</p>", ["them"]),
            ('<img alt="The board">', ["The board"]),
            ('<input value="Type it">', ["Type it"]),
            ("<option>All parts</option>", ["All parts"]),
        ],
    )
    def test_finds(self, html, found):
        assert list(escaping.escaping(html, [])) == found

    @pytest.mark.parametrize(
        "html",
        [
            "<p>«Take it away.»</p>",
            "<p>«Job «12» of <b>Ada</b>»</p>",
            "<p>«Kept by» Ada</p>",
            "<p>12 kHz, 230 V, DE-123</p>",
            '<p lang="en">Take it <b>away</b>.</p>',
            "<script>take it</script>",
            '<input type="hidden" value="Type it">',
        ],
    )
    def test_does_not_find(self, html):
        assert list(escaping.escaping(html, ["Ada"])) == []
