"""Signing a step reads the ledger twice: once under the lock, once for the page after it."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

pytestmark = pytest.mark.django_db


def test_a_sign_with_htmx_reads_job_and_ledger_no_more_than_it_must(client, people, bench, job):
    client.force_login(people.technician)
    path = reverse("sign", args=[job, "visual-intake"])
    with CaptureQueriesContext(
        connection,
    ) as queries:
        answer = client.post(path, {"result": "pass"}, headers={"HX-Request": "true"})
    assert answer.status_code == 200
    reads = [query["sql"] for query in queries if query["sql"].startswith("SELECT")]
    of_ledger = [sql for sql in reads if 'FROM "jobs_ledgerrow"' in sql]
    of_job = [sql for sql in reads if 'FROM "jobs_job"' in sql]
    assert len(of_ledger) == 2, of_ledger
    # For the address, under the lock, for the page; for other jobs of the unit: by the next act
    # that the write keeps, and by the page; and the line of live units.
    assert len(of_job) == 6, of_job
