"""The process that asks: whatever a meter does, it ends by its own time, also without a parent."""

from __future__ import annotations

import json
import signal
import subprocess
import sys

import pytest

from shop.instruments import reader, talking
from tests.instruments.simulated import IDENTITY, meter

pytestmark = pytest.mark.process
DC = "MEAS:VOLT:DC?"


def ordered(resource, **more):
    order = {
        "do": "read", "library": "@py", "identity": "*IDN?", "wait": 60, "pause": 0.1, "seconds": 2,
        "resource": resource, "baud": 9600, "command": DC,
    }  # fmt: skip
    return json.dumps(order | more).encode() + b"\n"


def run(order):
    command = [sys.executable, "-I", reader.__file__]
    return subprocess.run(command, input=order, capture_output=True, timeout=60, check=False)


def test_a_meter_that_hangs_does_not_hold_it():
    """The library would wait a minute; nobody reads the lines, and nobody ends it."""
    with meter(**{DC: [None]}) as device:
        ended = run(ordered(device.resource))
    assert ended.returncode == -signal.SIGALRM
    assert json.loads(ended.stdout) == {"identity": IDENTITY}


def test_another_identity_is_told_and_the_meter_not_asked():
    with meter(**{DC: ["1"]}) as device:
        ended = run(ordered(device.resource, expects="SOMEBODY ELSE"))
    assert ended.returncode == 0
    assert device.asked == ["*IDN?"]


def test_whoever_stops_listening_ends_it_and_the_meter_is_free_for_the_next(settings):
    settings.VISA_LIBRARY = "@py"
    with meter(**{DC: ["1"]}) as device:
        asked = {"resource": device.resource, "baud": 9600, "command": DC}
        for _ in range(3):
            with talking.conversation("read", 30, asked) as lines:
                assert next(lines) == {"identity": IDENTITY}
                assert next(lines)["answer"] == "1"


def test_the_lines_end_with_their_deadline(settings):
    settings.VISA_LIBRARY = "@py"
    with meter(**{DC: [None]}) as device:
        asked = {"resource": device.resource, "baud": 9600, "command": DC}
        with talking.conversation("read", 1, asked) as lines:
            assert [line for line in lines if "answer" in line] == []
