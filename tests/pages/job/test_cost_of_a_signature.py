"""What one signature on the page costs: rows, derivations and statements, counted and not timed."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from shop.jobs import sheets
from shop.jobs.models import LedgerRow
from tests.helpers import Bench, amplifier

MOST_STATEMENTS, MOST_DERIVATIONS = 9, 2
_OF_THE_SESSION = ("django_session", "auth_")


@pytest.fixture
def bench(people, client):
    client.force_login(people.technician)
    return Bench(people.technician)


def test_a_signed_step_is_one_row_two_derivations_and_nine_statements(
    client, bench, monkeypatch, steady_rules
):
    number = bench.receive(facts=amplifier())
    derived, checklist_for = [], sheets.checklist_for

    def counted(*given):
        derived.append(given)
        return checklist_for(*given)

    monkeypatch.setattr(sheets, "checklist_for", counted)
    before = LedgerRow.objects.filter(job=number).count()
    body = {"result": "pass", "note": ""}
    with CaptureQueriesContext(connection) as asked:
        answer = client.post(reverse("sign", args=[number, "visual-intake"]), body)
    assert answer.status_code in (200, 302, 303)
    assert LedgerRow.objects.filter(job=number).count() == before + 1
    assert len(derived) <= MOST_DERIVATIONS
    of_the_job = [q["sql"] for q in asked if not any(word in q["sql"] for word in _OF_THE_SESSION)]
    assert len(of_the_job) <= MOST_STATEMENTS, "\n".join(of_the_job)
