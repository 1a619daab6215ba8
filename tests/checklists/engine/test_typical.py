from __future__ import annotations

import pytest

from checklists.engine import typical
from checklists.engine.vocabulary import FactError
from tests.checklists.engine.packs import hazard, hold, load, rule, step

UNITS = """
[known]
always = ["findings"]
sparse = ["unit.kind"]
medium = ["unit.year"]

[base]
"findings" = ["joint-cracked"]
"unit.has_laser" = true

[[unit]]
name = "a player"
facts = { "unit.kind" = "disc-player", "unit.year" = 1990 }
"""
WITHOUT_LEVELS = UNITS[UNITS.index("[base]") :]


def write(folder, text=UNITS):
    folder.mkdir(exist_ok=True)
    (folder / "typical.units.toml").write_text(text, encoding="utf-8")
    return folder


def test_typical_units_stand_on_their_base(tmp_path):
    [(name, facts)] = typical.units(write(tmp_path)).items()
    assert name == "a player"
    assert facts == {
        "findings": ["joint-cracked"],
        "unit.has_laser": True,
        "unit.kind": "disc-player",
        "unit.year": 1990,
    }


def test_less_is_known_of_them_earlier(tmp_path):
    forms = {form.level: form for form in typical.forms(write(tmp_path))}
    assert set(forms["sparse"].facts) == {"findings", "unit.kind"}
    assert set(forms["medium"].facts) == {"findings", "unit.kind", "unit.year"}
    assert forms["full"].facts == typical.units(tmp_path)["a player"]
    names = [form.name for form in forms.values()]
    assert names == ["a player (sparse)", "a player (medium)", "a player"]


def test_a_file_that_says_nothing_of_when_has_the_full_form_alone(tmp_path):
    assert [form.level for form in typical.forms(write(tmp_path, WITHOUT_LEVELS))] == ["full"]


def test_a_typical_unit_that_cannot_be_is_an_error(tmp_path):
    with pytest.raises(FactError, match="toaster"):
        typical.units(write(tmp_path, UNITS.replace("disc-player", "toaster")))


@pytest.mark.parametrize(("count", "lines"), [(9, []), (10, ["release of a player: 10 cards"])])
def test_a_gate_that_is_too_long_to_be_passed_is_told(tmp_path, count, lines):
    keys = [f"s{n}" for n in range(count)]
    held = [step(key, 'gate = "release"\nhold = true') for key in keys]
    pack = load(tmp_path, rule("r", "true", *keys), *held)
    assert typical.long_gates(pack, write(tmp_path, WITHOUT_LEVELS)) == lines


def test_cards_count_and_not_the_steps_on_them(tmp_path):
    keys = [f"s{n}" for n in range(10)]
    card = '[[card]]\nname = "all"\ntitle = "All of it"\n'
    held = [hold(key, "release", 'together = "all"') for key in keys]
    pack = load(tmp_path, card, rule("r", "true", *keys), *held)
    assert typical.long_gates(pack, write(tmp_path)) == []
    lengths = typical.lengths(pack, {})
    assert (lengths["release"], lengths["soak"]) == (typical.Length(1, 10), typical.Length(0, 0))
    table = "\n".join(typical.table(pack, tmp_path))
    assert "1/10" in table
    assert "sparse: usual-longest, cards" in table


def test_a_gate_is_as_long_as_it_is_open_or_closed(tmp_path):
    open_alone = rule("r", 'job.cover == "off"', "a")
    pack = load(tmp_path, open_alone, hold("a", "soak"))
    assert typical.lengths(pack, {"job.cover": "on"})["soak"].holds == 1


def test_hazards_are_counted_over_a_whole_job(tmp_path):
    raised = 'raised_by = [{ event = "finding_recorded", finding = ["joint-cracked"] }]'
    pack = load(
        tmp_path,
        rule("r", "true", "a", "b"),
        hold("a"),
        hold("b"),
        hazard("there", "a", '["limited", "leave"]'),
        hazard("found", "b", "full", more=raised),
        hazard("not-there", "a", "full", possible="unit.has_laser"),
    )
    asked = typical.asked(pack, {"findings": ["joint-cracked"], "unit.has_laser": False})
    assert asked["limited"] == {"there"}
    assert asked["full"] == {"found"}
    assert asked["hands"] == set()
    assert typical.asked(pack, {"findings": []})["full"] == {"not-there"}
