from __future__ import annotations

import pytest
from django.utils import timezone

from shop.instruments import answering, asking, connecting, talking
from shop.instruments.models import Connection, Request
from tests.instruments.simulated import IDENTITY

VOLTS = ("dc-voltage", 60.0, {"reading_percent": 0.5, "counts": 2, "resolution": 0.001})
WARM = ("temperature", 200.0, {"counts": 1, "resolution": 1.0})
NOBODY = "TCPIP::127.0.0.1::9::SOCKET"


@pytest.fixture(autouse=True)
def _short(monkeypatch):
    """Wait for an answer no longer than a test may."""
    monkeypatch.setattr(talking, "WAIT_SECONDS", 1.0)
    monkeypatch.setitem(asking.SECONDS, Request.READ, 6.0)


@pytest.fixture
def connected(add_instrument, people):
    """Connect an instrument as if it had been tested."""

    def connect(name="Bench meter", resource=NOBODY, *ranges):
        made = add_instrument(name, *(ranges or (VOLTS, WARM)))
        commands = {"dc-voltage": "", "temperature": ""}
        connecting.save(made, resource, 9600, commands, by=people.owner)
        Connection.objects.filter(instrument=made).update(identity=IDENTITY)
        return made

    return connect


@pytest.fixture
def answer():
    """Answer the request that waits, as the worker would, or with this value."""

    def now(value=None, said=""):
        if value is None and not said:
            return answering.answer_waiting(now=timezone.now())
        request = asking.take_next(timezone.now())
        state = Request.DONE if said == "" else Request.FAILED
        return asking.end(request, state, value=value, said=said)

    return now


@pytest.fixture
def live(bench, job):
    """The job of a healthy amplifier on the limiter, where the offset is measured."""
    bench.ready_for(job, bench.step(job, "dc-offset").step)
    return job
