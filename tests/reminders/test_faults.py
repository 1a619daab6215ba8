"""The worker is killed (SIGKILL) between every two steps it takes, and says everything once.

A child process runs one round of the watch on the real database and dies before or after its
k-th statement, for every k, until a round comes through alive. After each death a second worker
runs a round: every reminder and every letter must be there once, and a real mail server must
have got each of them; it counts by Message-ID, as mail systems do.
"""

from __future__ import annotations

import os
import signal
from collections import Counter
from datetime import timedelta

import pytest
import time_machine
from aiosmtpd.controller import Controller
from django.db import connection, connections

from shop.messages import mail_queue
from shop.reminders import emails
from shop.reminders import services as reminder_services
from shop.reminders.models import EmailPreference, Reminder, StaffEmail
from shop.reminders.periodic import PERIODIC_TASKS
from tests.composed import free_port
from tests.factories import PersonFactory
from tests.helpers import Bench, amplifier
from tests.reminders.when import at

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.process]

NOW = at("2026-11-27T10:00")
LATER = NOW + mail_queue.LEASE + timedelta(seconds=1)


class Postbox:
    """A mail server that notes what it was handed."""

    def __init__(self):
        self.got: Counter[str] = Counter()

    async def handle_DATA(self, server, session, envelope):
        text = envelope.content.decode()
        [name] = [line for line in text.splitlines() if line.lower().startswith("message-id:")]
        self.got[name] += 1
        return "250 kept"


@pytest.fixture
def postbox(settings):
    box = Postbox()
    server = Controller(box, hostname="127.0.0.1", port=free_port())
    server.start()
    settings.MAIL_ON = True
    settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    settings.EMAIL_HOST = "127.0.0.1"
    settings.EMAIL_PORT = server.port
    yield box
    server.stop()


@pytest.fixture
def overdue(postbox):
    """Two jobs past their stall timeout, one of them under mains since this morning, and a digest due."""
    bea = PersonFactory(username="bea", role="technician", email="bea@example.org")
    lou = PersonFactory(username="lou", role="owner", email="lou@example.org")
    EmailPreference.objects.create(person=lou, way=EmailPreference.DIGEST)
    bench = Bench(bea)
    with time_machine.travel(at("2026-11-20T09:00"), tick=False):
        jobs = [bench.receive(facts=amplifier()) for _ in range(2)]
        bench.sign(jobs[0], "visual-intake")
    with time_machine.travel(at("2026-11-27T05:30"), tick=False):
        bench.limited(jobs[1])
    return jobs


def round_(now):
    for name, duty in PERIODIC_TASKS.items():
        if name not in ("follow-rules", "finish-imports"):
            duty(now=now)


_KEPT = []


def apart() -> None:
    """Give a forked child a connection of its own.

    Not by closing: a connection that the parent still holds would stay in the transaction that
    the child dies in. The browser tests leave an event loop behind, by which parent and child
    see different ones.
    """
    _KEPT.append(connections["default"])
    del connections["default"]


def dies_at(step: int, *, after: bool) -> bool:
    """Run a round in a child that is killed at a statement; tells whether it died."""
    connections.close_all()
    child = os.fork()
    if child == 0:
        try:
            apart()
            with connection.execute_wrapper(_killer(step, after=after)):
                round_(NOW)
        except BaseException:
            os._exit(3)
        os._exit(0)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status) or os.WEXITSTATUS(status) == 0, "the round itself failed"
    return os.WIFSIGNALED(status)


def _killer(step: int, *, after: bool):
    seen = 0

    def wrapper(execute, sql, params, many, context):
        nonlocal seen
        seen += 1
        if seen == step and not after:
            os.kill(os.getpid(), signal.SIGKILL)
        result = execute(sql, params, many, context)
        if seen == step:
            os.kill(os.getpid(), signal.SIGKILL)
        return result

    return wrapper


def forget(postbox):
    StaffEmail.objects.all().delete()
    Reminder.objects.all().delete()
    postbox.got.clear()


@pytest.mark.slow
@pytest.mark.parametrize("after", [False, True])
def test_killed_between_any_two_steps_nothing_is_lost_and_nothing_is_said_twice(
    overdue, postbox, after
):
    step, deaths = 1, 0
    while dies_at(step, after=after):
        deaths += 1
        round_(LATER)
        round_(LATER)

        reminders = Counter(Reminder.objects.values_list("job", "topic", "escalation_level"))
        assert reminders == {
            (overdue[0], "stalled", 1): 1,
            (overdue[1], "permit-long", 1): 1,
        }, f"killed at statement {step}"
        keys = Counter(StaffEmail.objects.values_list("person__username", flat=True))
        assert keys == {"bea": 2, "lou": 1}
        assert not StaffEmail.objects.filter(sent_at=None).exists()
        assert len(postbox.got) == 3, f"killed at statement {step}"
        # One letter at most was on the wire when the worker died.
        assert sum(postbox.got.values()) <= 4
        forget(postbox)
        step += 1
    assert deaths > 20


def test_two_workers_at_once_send_each_letter_once(overdue, postbox):
    reminder_services.remind(now=NOW)
    emails.queue_digests(now=NOW)
    connections.close_all()
    children = []
    for _ in range(4):
        child = os.fork()
        if child == 0:
            apart()
            emails.deliver(now=NOW)
            os._exit(0)
        children.append(child)
    for child in children:
        os.waitpid(child, 0)
    assert sorted(postbox.got.values()) == [1, 1, 1]


def test_a_lease_that_has_not_run_out_is_respected(overdue, postbox):
    reminder_services.remind(now=NOW)
    StaffEmail.objects.update(lease_until=NOW + timedelta(minutes=1))
    assert emails.deliver(now=NOW) == 0
    assert emails.deliver(now=NOW + timedelta(minutes=2)) == 2
