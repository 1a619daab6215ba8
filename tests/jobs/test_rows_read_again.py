"""Rows of a ledger that are read again: the same while they say the same, others once they were altered."""

from __future__ import annotations

import pytest
from django.db import connection

from shop.jobs import events, ledger, power_triggers
from shop.jobs.models import Job, LedgerRow

pytestmark = pytest.mark.django_db


def test_what_was_read_is_not_read_again(job):
    first = ledger.read(job)
    assert all(one is same for one, same in zip(first, ledger.read(job), strict=True))


def test_a_row_that_was_altered_is_seen_at_once(job):
    whose, before = Job.objects.get(pk=job), ledger.read(job)
    assert not events.reduce(whose, before).history_events[-1].unreadable
    power_triggers.remove(connection)
    last = LedgerRow.objects.filter(job=job).last()
    LedgerRow.objects.filter(pk=last.pk).update(event_type="never_heard_of")
    assert events.reduce(whose, ledger.read(job)).history_events[-1].unreadable
