from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

from tests.published.checks import table
from tests.published.every import CHECKS

# The worked examples of docs/checks.md that bear on a calculation, by number.
BEARING = [
    *(f"W1.{n}" for n in range(1, 8)),
    *(f"W2.{n}" for n in range(1, 9)),
    *(f"W3.{n}" for n in range(1, 10)),
    *(f"W4.{n}" for n in range(1, 10)),
    *(f"W5.{n}" for n in range(1, 13)),
    *(f"W6.{n}" for n in range(1, 10)),
    *(f"W7.{n}" for n in range(1, 13)),
    *(f"W8.{n}" for n in range(1, 7)),
    *(f"W9.{n}" for n in range(1, 4)),
    *(f"W10.{n}" for n in range(1, 4)),
    *(f"W11.{n}" for n in range(1, 18)),
    *(f"W12.{n}" for n in range(1, 8)),
    *(f"W14.{n}" for n in (1, 2, 3, 5)),
]


@pytest.mark.parametrize("check", CHECKS, ids=lambda check: f"{check.id} {check.what}")
def test_ours_agrees_with_the_value_from_outside(check):
    assert check.agrees(), f"wanted {check.want}, got {check.got()} ({check.source})"


def test_every_worked_example_that_bears_on_a_calculation_is_held():
    held = {check.id for check in CHECKS}
    assert [number for number in BEARING if number not in held] == []


def test_no_check_stands_there_twice():
    counted = Counter((check.id, check.what) for check in CHECKS)
    assert [key for key, times in counted.items() if times > 1] == []


def test_there_are_as_many_as_the_project_promises():
    assert len(CHECKS) >= 600


@pytest.mark.parametrize("check", CHECKS[:40], ids=lambda check: f"{check.id} {check.what}")
def test_a_wrong_value_would_be_noticed(check):
    if check.is_number and check.want:
        off = 1 + 2 * max(check.rel, 1e-9)
        wrong = type(check)(**{**vars(check), "want": check.got() * off, "at_most": None})
        assert not wrong.agrees()


def test_the_table_of_the_docs_is_the_one_of_the_tests():
    kept = Path("docs/checks.md").read_text(encoding="utf-8")
    assert kept == table(CHECKS), "run python -m tests.published.checks > docs/checks.md"
