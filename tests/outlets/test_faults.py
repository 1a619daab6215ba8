"""A few of the faults of `python -m tests.outlets.faults`, with a real broker and a real network."""

from __future__ import annotations

import shutil
import subprocess
import sys

import pytest
from django.conf import settings

pytestmark = [
    pytest.mark.process,
    pytest.mark.slow,
    pytest.mark.skipif(
        not (shutil.which("mosquitto") and shutil.which("mosquitto_passwd")),
        reason="needs mosquitto",
    ),
]


def run(*words):
    command = [sys.executable, "-m", "tests.outlets.faults", *words]
    return subprocess.run(
        command, cwd=settings.ROOT, capture_output=True, text=True, timeout=500, check=False
    )


@pytest.mark.parametrize("cut", ["any", "relay"])
def test_every_fault_once_on_each_kind(cut):
    done = run("--faults", "48", "--lanes", "4", "--cut", cut)
    assert done.returncode == 0, done.stdout + done.stderr
    assert " 0 enables without a permit" in done.stdout


def test_the_command_killed():
    done = run("--only", "command_killed", "--faults", "4", "--lanes", "4")
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_holder_that_reads_no_permit_is_found():
    """What finds nothing when there is something to find is worth nothing."""
    done = run("--blind", "--faults", "18", "--lanes", "2")
    assert done.returncode == 1
    assert "permit_falls (mqtt): enable without a permit" in done.stdout
    assert "permit_falls (mqtt): not dropped" in done.stdout
