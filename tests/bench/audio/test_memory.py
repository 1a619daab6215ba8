"""The largest recordings, measured in a process of their own: at most 300 MB, all told."""

from __future__ import annotations

import subprocess
import sys
import wave

import numpy as np
import pytest

pytestmark = [
    pytest.mark.process,
    pytest.mark.slow,
    pytest.mark.skipif(sys.platform != "linux", reason="reads the peak from /proc"),
]
MOST_MEGABYTES = 300
BYTES = 62 * 2**20

_MEASURE = """
import sys
from shop.bench.audio import noise, response, separation, tone
call = {"tone": tone.tone, "noise": noise.noise, "response": response.response,
        "separation": separation.separation}[sys.argv[1]]
try:
    call(sys.argv[2])
except ValueError as error:
    print(error)
# What getrusage tells is that of the parent too: it outlives the exec.
lines = open("/proc/self/status").read().splitlines()
print(next(int(line.split()[1]) // 1024 for line in lines if line.startswith("VmHWM:")))
"""


@pytest.fixture(scope="module")
def recordings(tmp_path_factory):
    """62 MB of 8 bit: one channel at 384 kHz, two at 192, eight at 48."""
    folder = tmp_path_factory.mktemp("recordings")
    for channels, rate in ((1, 384_000), (2, 192_000), (8, 48_000)):
        second = 128 + 100 * np.sin(2 * np.pi * 1000 * np.arange(rate) / rate)
        second += np.random.default_rng(1).normal(0, 1, rate)
        block = np.repeat(second.astype(np.uint8), channels).tobytes()
        with wave.open(str(folder / f"{channels}.wav"), "wb") as file:
            file.setparams((channels, 1, rate, 0, "NONE", ""))
            for _ in range(BYTES // len(block)):
                file.writeframesraw(block)
    return folder


@pytest.mark.parametrize(
    ("what", "channels"),
    [
        ("tone", 1), ("tone", 2), ("tone", 8), ("noise", 1), ("noise", 8),
        ("separation", 2), ("response", 1), ("response", 8),
    ],
)  # fmt: skip
def test_the_largest_recording_takes_no_more(recordings, what, channels):
    command = [sys.executable, "-c", _MEASURE, what, str(recordings / f"{channels}.wav")]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    *told, most = done.stdout.split("\n")[:-1]
    assert int(most) <= MOST_MEGABYTES, done.stdout
    if what == "response":
        assert "cut it, or record at a lower rate" in told[0]
