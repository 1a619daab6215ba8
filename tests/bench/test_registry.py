from __future__ import annotations

import math
import re
import subprocess
import sys

import pytest
from hypothesis import strategies as st

from shop.bench import registry

volts = st.floats(1, 5000)
microfarads = st.floats(0.01, 1e6)


@pytest.mark.parametrize(
    ("name", "arguments", "sentence"),
    [
        ("discharge", {"volts": 0, "microfarads": 100}, "volts is 0 V; it must be from 0.1"),
        ("discharge", {"volts": -5, "microfarads": 100}, "volts is -5 V"),
        ("discharge", {"volts": math.nan, "microfarads": 1}, "volts is nan; it must be a number"),
        ("discharge", {"volts": 400, "microfarads": 5e6}, "microfarads is 5e+06 uF"),
        ("discharge", {"volts": 75}, "discharge also needs microfarads"),
        ("discharge", {"watts": 1}, "watts is not an input of discharge"),
        ("lamp-limiter", {"mains_volts": 12}, "mains_volts is 12 V; it must be from 90"),
        ("clean-trials", {"faults": 4, "trials": 3}, "faults is 4; it must be at most trials"),
        ("clean-trials", {"faults": 0.5, "trials": 3}, "faults is 0.5; it must be a whole number"),
        ("valve-idle", {"plate_volts": 1, "rated_watts": 25}, "plate_volts is 1 V"),
        ("earth-limit", {"cord_metres": math.inf}, "cord_metres is inf; it must be a number of m"),
    ],
)
def test_bad_input_gets_a_sentence(name, arguments, sentence):
    with pytest.raises(ValueError, match=re.escape(sentence)):
        registry.run(name, arguments)


def test_a_plan_that_cannot_be_worked_out_says_why():
    assert registry.plan_result("discharge", {"volts": 0.0, "microfarads": 1.0})[0] is None
    result, why_not = registry.plan_result("discharge", {"volts": 75.0, "microfarads": 10000.0})
    assert result["energy_j"] == pytest.approx(28.125)
    assert why_not == ""


def test_a_plan_with_numbers_that_are_hardly_meant_waits_for_the_facts():
    result, why_not = registry.plan_result("discharge", {"volts": 400.0, "microfarads": 5e5})
    assert result is None
    assert why_not.endswith("No plan until the facts are right.")


@pytest.mark.process
def test_a_list_of_the_sums_waits_for_no_solver():
    """What SciPy is made of is loaded when a sum asks for it, not with the registry."""
    look = "import sys, shop.bench.registry; print(*(n for n in sys.modules if n.startswith('scipy.')))"
    found = subprocess.run([sys.executable, "-c", look], capture_output=True, text=True, check=True)
    heavy = ("scipy.stats", "scipy.signal", "scipy.optimize", "scipy.ndimage", "scipy.sparse")
    assert not [name for name in found.stdout.split() if name.startswith(heavy)]
