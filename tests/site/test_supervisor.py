"""A child that dies alone is started again, later each time; all end with their parent."""

from __future__ import annotations

import os
import signal
import sys
import time

import pytest

from shop.site import supervisor
from shop.site.supervisor import Children

pytestmark = pytest.mark.process
SLEEPER = [sys.executable, "-c", "import time; time.sleep(60)"]


@pytest.fixture
def children():
    made = Children()
    yield made
    made.stop()


def _pid(children, name="sleeper"):
    return children._children[name].process.pid


def _until(true, seconds=10):
    deadline = time.monotonic() + seconds
    while time.monotonic() < deadline:
        if true():
            return True
        time.sleep(0.02)
    return False


def _wait_for_end(children):
    assert _until(lambda: children.ended() == "sleeper")


def test_a_killed_child_comes_back(children, monkeypatch):
    monkeypatch.setattr(supervisor, "FIRST_PAUSE_SECONDS", 0.05)
    children.start("sleeper", SLEEPER, os.environ)
    first = _pid(children)
    children._children["sleeper"].pause = 0.05
    os.kill(first, signal.SIGKILL)
    _wait_for_end(children)
    assert children.revive() == ["The sleeper has ended (signal SIGKILL); it is started again."]
    assert _until(lambda: children.revive() == [] and children.ended() is None)
    assert _pid(children) != first


def test_one_that_dies_at_once_is_waited_for_longer_each_time(children):
    children.start("sleeper", [sys.executable, "-c", "raise SystemExit(3)"], os.environ)
    child = children._children["sleeper"]
    child.pause = 0.01
    pauses = []
    for _ in range(3):
        _wait_for_end(children)
        assert children.revive() == ["The sleeper has ended (code 3); it is started again."]
        pauses.append(child.pause)
        assert _until(lambda: children.revive() == [] and child.again_at is None)
    assert pauses == [0.02, 0.04, 0.08]


def test_stop_ends_all_of_them():
    children = Children()
    children.start("sleeper", SLEEPER, os.environ)
    process = children._children["sleeper"].process
    children.stop()
    assert process.poll() is not None
