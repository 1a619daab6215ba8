"""A ledger in words: what a row is headed, what it says, and what stays out unless it is asked for."""

from __future__ import annotations

import pytest
from django.urls import reverse

from shop.jobs import events, ledger_words, queries
from shop.jobs.events import EVENTS
from shop.jobs.ledger import Row

pytestmark = pytest.mark.django_db


@pytest.fixture
def book(bench, job):
    """Return what the last row of the job says, as (heading, words)."""

    def last(event_type, **data):
        bench.record(job, event_type, **data)
        found = bench.job(job)
        rows = queries.rows_of(found)
        entry = ledger_words.entries(rows, events.reduce(found, rows))[-1]
        return entry.heading, entry.words

    return last


@pytest.mark.parametrize(
    ("event_type", "data", "said"),
    [
        ("note_added", {"text": "Came by van."}, ("Note", "Came by van.")),
        ("fact_recorded", {"name": "unit.rated_watts", "value": 30.0}, ("Fact", "Rated power (W): 30")),
        (
            "trial_run",
            {"fault": False, "conditions": ["warm", "knocked"]},
            ("Trial", "no fault; warm, knocked"),
        ),
        (
            "part_needed",
            {"spec": "relay 24 V", "quantity": 2},
            ("Part needed", "2 pc relay 24 V"),
        ),
        ("promise_made", {"on": "2031-04-05"}, ("Promised", "5 April 2031")),
        (
            "finding_recorded",
            {"finding": "electrolytics-aged", "section": "supply"},
            ("Found", "electrolytics aged; supply"),
        ),
    ],
)  # fmt: skip
def test_a_row_is_told_in_words(book, event_type, data, said):
    assert book(event_type, **data) == said


def test_a_part_is_called_by_its_name_wherever_it_is_spoken_of(bench, book, job):
    book("part_needed", spec="relay 24 V")
    need = bench.job(job).head
    assert book("part_ordered", need=need) == ("Part ordered", "relay 24 V")


def test_no_type_is_left_without_words_when_its_row_cannot_be_read(bench, job):
    found = bench.job(job)
    record = events.reduce(found, queries.rows_of(found))
    for event in EVENTS:
        row = Row(
            sequence=9,
            event_type=event.event_type,
            at=found.received_at,
            by_name="technician",
            body='{"unreadable": [1]}',
            hash="",
        )
        (entry,) = ledger_words.entries([row], record)
        assert entry.heading
        assert isinstance(entry.words, str)


class TestPage:
    @pytest.fixture
    def page(self, client, people, job):
        client.force_login(people.technician)
        return lambda query="": client.get(reverse("ledger", args=[job]) + query).content.decode()

    def test_hashes_stay_out_until_they_are_asked_for(self, bench, job, page):
        row = queries.rows_of(bench.job(job))[-1]
        assert "chain intact" in page()
        assert row.hash not in page()
        assert row.hash in page("?hashes=yes")

    def test_a_withdrawn_row_stays_and_says_so(self, bench, job, page):
        bench.record(job, "finding_recorded", finding="electrolytics-aged")
        bench.record(job, "entry_withdrawn", row=bench.job(job).head, reason="wrong unit")
        assert "electrolytics aged" in page()
        assert 'class="ink bad">withdrawn' in page()

    def test_rows_come_a_page_at_a_time(self, bench, job, page, monkeypatch):
        monkeypatch.setattr("shop.jobs.views.ROWS_PER_PAGE", 3)
        assert 'id="row-1"' not in page()
        assert 'id="row-1"' in page("?page=999")
