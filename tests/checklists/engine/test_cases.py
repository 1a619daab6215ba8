from __future__ import annotations

import pytest

from checklists.engine import cases
from tests.checklists.engine.packs import load, rule, step

CASES = """
[base]
"unit.has_laser" = true

[[case]]
name = "a laser is looked at"
steps = ["look"]

[[case]]
name = "no laser, nothing"
facts = { "unit.has_laser" = false }
steps = []

[[case]]
name = "not known"
without = ["unit.has_laser"]
steps = ["look"]
undetermined = ["look"]
"""


@pytest.fixture
def pack(tmp_path):
    return load(tmp_path, rule("laser", "unit.has_laser", "look"), step("look"))


def run(pack, folder, text):
    """Return the faults that the cases show of the rules of the test, and how many cases ran."""
    (folder / "small.cases.toml").write_text(text, encoding="utf-8")
    report = cases.run(pack, folder)
    return [line for line in report.problems if "Rule roles" not in line], report.cases


def test_cases_that_come_out_as_written_show_nothing(pack, tmp_path):
    assert run(pack, tmp_path, CASES) == ([], 3)


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('steps = ["look"]\n\n', "steps = []\n\n", "a laser is looked at: gives look; wanted ."),
        ("steps = []", 'steps = ["look"]', "no laser, nothing: gives nothing; wanted look."),
        ('undetermined = ["look"]', "", "not known: undetermined are look."),
        ("without", "minus", "not known: minus unknown."),
        ('"unit.has_laser" = false', '"unit.colour" = 3', "'unit.colour' is not a fact"),
        ('name = "not known"', "", "(unnamed)"),
    ],
)
def test_a_case_that_does_not_is_told_by_name(pack, tmp_path, old, new, sentence):
    assert old in CASES
    changed = CASES.replace(old, new, 1)
    if sentence == "(unnamed)":
        changed = changed.replace('undetermined = ["look"]', "")
    told, _ = run(pack, tmp_path, changed)
    assert sentence in "\n".join(told)


@pytest.mark.parametrize(
    ("facts", "missed"), [("true", "no case misses it"), ("false", "no case hits it")]
)
def test_a_rule_that_no_case_decides_both_ways_is_told(pack, tmp_path, facts, missed):
    steps = '["look"]' if facts == "true" else "[]"
    text = f'[[case]]\nname = "only one"\nfacts = {{ "unit.has_laser" = {facts} }}\nsteps = {steps}'
    assert run(pack, tmp_path, text) == ([f"Rule laser: {missed}."], 1)


def test_a_rule_that_reads_no_fact_needs_no_case_that_misses(tmp_path):
    always = load(tmp_path, rule("always", "true", "look"), step("look"))
    assert run(always, tmp_path, '[[case]]\nname = "any"\nsteps = ["look"]') == ([], 1)


def test_histories_of_events_are_left_to_their_own_runner(pack, tmp_path):
    (tmp_path / cases.HISTORIES).write_text('[[case]]\nname = "a history"\n', encoding="utf-8")
    assert run(pack, tmp_path, CASES) == ([], 3)
    (tmp_path / "other.cases.toml").write_text('[[case]]\nname = "x"\nsteps = []', encoding="utf-8")
    assert run(pack, tmp_path, CASES)[1] == 4
