from __future__ import annotations

import pytest

from checklists.engine import mutate
from checklists.engine.happenings import HistoryError
from checklists.engine.mutants import mutants
from checklists.engine.reading_packs import parts
from tests.checklists.engine.packs import rule, step, write_whole

HAZARD = """
    [[hazard]]
    key = "reversed"
    title = "The wrong way round"
    because = "It bursts."
    source = "common practice"
    possible = 'true'
    raised_by = [
      { event = "work_done", work = ["reservoirs-replaced", "electrolytics-replaced"], except_section = ["display"] },
      { event = "part_fitted", inside = true },
    ]
    cleared_by = ["look"]
    meets = ["limited"]
"""
CASES = """
[[case]]
name = "new reservoirs"
physics = "They burst."
events = [
  { kind = "sign_all" }, { kind = "work_done", work = "reservoirs-replaced", before = true },
  { kind = "power_applied", power = "limited" },
]

[[case]]
name = "signed under mains"
physics = "It is looked at with the plug out."
events = [
  { kind = "work_done", work = "reservoirs-replaced", before = true }, { kind = "sign_all" },
  { kind = "power_applied", power = "limited" },
  { kind = "step_signed", step = "look", result = "pass" },
]

[[case]]
name = "a lamp in the display"
physics = "There is no electrolytic in it."
allowed = true
events = [
  { kind = "work_done", work = "reservoirs-replaced", section = "display", before = true },
  { kind = "power_applied", power = "limited" },
]
"""
EQUIVALENTS = """
[[equivalent]]
mutants = ["reversed: meets no leave"]
why = "it was powered before"
"""
HOLD = 'hold = true\ngate = "limited-power"\nneeds_power = ["isolated"]'


@pytest.fixture
def folder(tmp_path):
    write_whole(tmp_path, rule("parts", "false", "look"), step("look", HOLD), HAZARD)
    (tmp_path / "hazards.cases.toml").write_text(CASES, encoding="utf-8")
    return tmp_path


def fates(folder):
    return {fate.mutant: (fate.kind, fate.killer) for fate in mutate.Hunt(folder).fates()}


def test_each_line_and_word_and_condition_is_taken_away_once(folder):
    assert [mutant.name for mutant in mutants(parts(folder))] == [
        "reversed: gone",
        "reversed: possible is false",
        "reversed: meets no limited",
        "reversed: not raised by work_done (electrolytics-replaced, reservoirs-replaced)",
        "reversed: raised by work_done without electrolytics-replaced",
        "reversed: raised by work_done without reservoirs-replaced",
        "reversed: raised by work_done without display",
        "reversed: not raised by part_fitted",
        "reversed: raised by part_fitted from outside as well",
        "look: needs no power state",
    ]


def test_a_case_or_the_purpose_of_a_hold_tells_and_the_rest_survives(folder):
    found = fates(folder)
    assert found["reversed: gone"][0] == "case"
    assert found["reversed: raised by work_done without reservoirs-replaced"] == (
        "case",
        "new reservoirs",
    )
    assert found["reversed: raised by work_done without display"] == (
        "case",
        "a lamp in the display",
    )
    assert found["look: needs no power state"] == ("case", "signed under mains")
    assert found["reversed: meets no limited"][0] == "purpose"
    survivors = [name for name, (kind, _) in found.items() if kind == "survived"]
    assert survivors == [
        "reversed: raised by work_done without electrolytics-replaced",
        "reversed: not raised by part_fitted",
        "reversed: raised by part_fitted from outside as well",
    ]


def test_without_cases_the_purpose_of_the_hold_tells(folder):
    (folder / "hazards.cases.toml").write_text("", encoding="utf-8")
    assert fates(folder)["reversed: gone"] == ("purpose", "it clears no hazard that meets limited")


def test_a_survivor_that_is_named_is_equivalent_and_a_name_of_none_is_told(folder):
    named = EQUIVALENTS.replace("meets no leave", "not raised by part_fitted")
    (folder / "hazards.equivalents.toml").write_text(named, encoding="utf-8")
    assert fates(folder)["reversed: not raised by part_fitted"] == (
        "equivalent",
        "it was powered before",
    )
    (folder / "hazards.equivalents.toml").write_text(EQUIVALENTS, encoding="utf-8")
    assert mutate.Hunt(folder).strays() == ["reversed: meets no leave"]


def test_equivalents_that_cannot_be_read_are_told(folder):
    (folder / "hazards.equivalents.toml").write_text("[[equivalent]]", encoding="utf-8")
    with pytest.raises(HistoryError, match="mutants is missing"):
        mutate.Hunt(folder)


def test_a_case_that_is_no_case_of_the_pack_kills_nothing(folder):
    text = CASES.replace("allowed = true\n", "")
    (folder / "hazards.cases.toml").write_text(text, encoding="utf-8")
    with pytest.raises(HistoryError, match="a lamp in the display: the last event"):
        mutate.Hunt(folder)
