"""The desk at one moment: two who send, two answers, two workers, two links."""

from __future__ import annotations

from datetime import timedelta
from functools import partial

import pytest
from django.core import mail
from django.utils import timezone

from shop.customers.announced import services as announcing
from shop.customers.links import keys
from shop.customers.links.models import CustomerLink
from shop.estimates import services as estimate_services
from shop.estimates.models import Estimate
from shop.intake import services as intake_services
from shop.intake.services import IntakeDetails
from shop.jobs import commands, queries
from shop.jobs.models import Job
from shop.messages import composing, sending
from shop.messages.models import Message
from shop.search import indexing
from shop.search import queries as search_queries
from tests.estimates.test_services import line
from tests.races.test_races import ROUNDS, assert_intact, together, unexpected

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_draft_is_sent_once(bench, other):
    for _ in range(ROUNDS):
        number, now = bench.receive(), timezone.now()
        estimate_services.get_or_create_draft(number, by=bench.by, at=now)
        estimate_services.save_draft(number, "", [line()], by=bench.by)
        results = together(
            partial(estimate_services.send_draft, number, by=bench.by, at=now),
            partial(estimate_services.send_draft, number, by=other.by, at=now),
        )
        assert unexpected(results) == []
        assert assert_intact(number).count("estimate_sent") == 1


def test_two_who_draft_at_once_share_one_draft(bench, other):
    for _ in range(ROUNDS):
        number, now = bench.receive(), timezone.now()
        results = together(
            partial(estimate_services.get_or_create_draft, number, by=bench.by, at=now),
            partial(estimate_services.get_or_create_draft, number, by=other.by, at=now),
        )
        assert unexpected(results) == []
        assert Estimate.objects.filter(job=number).count() == 1


def test_of_yes_and_no_at_once_one_is_heard(bench):
    for _ in range(ROUNDS):
        number, now = bench.receive(), timezone.now()
        estimate_services.get_or_create_draft(number, by=bench.by, at=now)
        estimate_services.save_draft(number, "", [line()], by=bench.by)
        version = estimate_services.send_draft(number, by=bench.by, at=now).version
        results = together(
            partial(
                commands.record_estimate_answer, number, "yes", version=version, note="", at=now
            ),
            partial(
                commands.record_estimate_answer, number, "no", version=version, note="", at=now
            ),
        )
        assert unexpected(results) == []
        kinds = assert_intact(number)
        assert kinds.count("estimate_answered") == 1
        assert queries.record_of(bench.job(number)).estimate in ("yes", "no")


def test_two_links_at_once_are_one(bench):
    for _ in range(ROUNDS):
        job, now = bench.job(bench.receive()), timezone.now()
        results = together(*[partial(keys.link_for, job, now=now)] * 2)
        assert unexpected(results) == []
        assert CustomerLink.objects.filter(job=job).count() == 1


def test_two_workers_tell_a_customer_once(bench, settings):
    settings.MAIL_ON = True
    now = timezone.now()
    details = IntakeDetails(name="Ada", email="ada@example.org", agreed_to_mail=True)
    for _ in range(4):
        intake_services.receive(by=bench.by, at=now, details=details, make="Corvenby")
    later = now + timedelta(days=1)
    assert unexpected(together(*[partial(composing.queue_due, now=now)] * 3)) == []
    assert Message.objects.count() == 4
    mail.outbox.clear()
    results = together(*[partial(sending.deliver, now=later + timedelta(days=4))] * 3)
    assert unexpected(results) == []
    assert sum(results) == len(mail.outbox) == 4


def test_two_readers_index_a_job_at_once(bench):
    for place in range(ROUNDS):
        number = bench.receive(complaint=f"word{place}")
        results = together(*[partial(indexing.index_jobs, [number])] * 3)
        assert unexpected(results) == []
        assert [job.number for job in search_queries.search_jobs(f"word{place}").jobs] == [number]


def test_what_was_announced_becomes_one_job(bench, people):
    for place in range(ROUNDS):
        now = timezone.now()
        row = announcing.announce({"make": "Corvenby"}, by=people.desk, at=now)
        before = Job.objects.count()
        receive = partial(
            intake_services.receive, by=people.desk, at=now, announced=row.pk, make="Corvenby"
        )
        change = partial(announcing.say, row.pk, {"model": f"C {place}"}, at=now)
        results = together(receive, receive, change)
        assert unexpected(results) == []
        assert Job.objects.count() == before + 1
        row.refresh_from_db()
        assert row.job_id == Job.objects.latest("number").number


def test_two_who_take_facts_over_at_once_write_each_once(bench, other):
    for place in range(ROUNDS):
        name = {"make": "Corvenby", "model": "C 4", "serial": f"K-{place}"}
        first = bench.receive(**name, facts={"unit.kind": "tuner", "unit.year": 1974})
        bench.pass_gate(first, "hand-back")
        bench.stage(first, "withdrawn")
        number, now = bench.receive(**name), timezone.now()
        results = together(
            partial(commands.take_over_facts, number, by=bench.by, at=now),
            partial(commands.take_over_facts, number, by=other.by, at=now),
        )
        assert unexpected(results) == []
        assert assert_intact(number).count("fact_recorded") == 2
