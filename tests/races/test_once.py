"""Eight requests with one key at one moment: one is carried out, all get its answer."""

from __future__ import annotations

import json

import pytest
from django.test import Client

from shop.api.models import ApiToken, KeyedRequest
from shop.jobs.models import LedgerRow
from tests.helpers import amplifier
from tests.races.test_races import together

pytestmark = pytest.mark.django_db(transaction=True)
THREADS, ROUNDS = 8, 5


def test_one_key_at_one_moment_is_one_row(bench):
    number = bench.receive(facts=amplifier())
    token = ApiToken.make(bench.by)
    body = json.dumps({"kind": "note_added", "data": {"text": "once"}})

    def sending(key):
        headers = {"Authorization": f"Bearer {token}", "Idempotency-Key": key}
        path = f"/api/v1/jobs/{number}/ledger/"
        return lambda: Client().post(path, body, "application/json", headers=headers)

    for turn in range(ROUNDS):
        answers = together(*[sending(f"key-{turn}")] * THREADS)
        assert {answer.status_code for answer in answers} == {201}, answers
        assert len({answer.json()["hash"] for answer in answers}) == 1
        marked = [answer for answer in answers if "Idempotency-Replayed" in answer.headers]
        assert len(marked) == THREADS - 1
    assert LedgerRow.objects.filter(event_type="note_added").count() == ROUNDS
    assert KeyedRequest.objects.count() == ROUNDS
