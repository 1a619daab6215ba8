from __future__ import annotations

import pytest

from checklists.engine import bench_units, typical
from checklists.engine.bench_units import BenchUnitsError, ReadingOf
from tests.checklists.engine.packs import load, rule, step

UNITS = """
[base]
"unit.has_laser" = false

[[quantity]]
name = "rail_ohms"
unit = "ohm"
says = "Rail to chassis."

[[reading]]
quantity = "ohms"
of = ["rail_ohms"]

[[unit]]
name = "well"
maker = "Nobody"
model = "1"
complaint = "Hums."
facts = { "unit.year" = 1988 }
mend = [{ finding = "joint-cracked", work = "joints-reflowed", section = "board" }]
[unit.true]
rail_ohms = [2600.0, "A bleeder."]

[[sick]]
name = "ill"
of = "well"
complaint = "Hums."
comes = "arrival"
why = "A short."
stopped_by = ["look"]
before = "full"
says = ["short"]
mend = []
[sick.true]
rail_ohms = [0.2, "The short."]
"""


def read(folder, text=UNITS):
    (folder / "a.bench.toml").write_text(text, encoding="utf-8")
    return bench_units.read(folder)


def faults(folder, old, new):
    """Return what is wrong once a line of the units is changed."""
    assert old in UNITS
    with pytest.raises(BenchUnitsError) as error:
        read(folder, UNITS.replace(old, new, 1))
    return "\n".join(error.value.problems)


def test_a_sick_unit_is_the_healthy_one_with_other_values(tmp_path):
    units = read(tmp_path)
    (well,), (ill,) = units.healthy, units.sick
    assert well.facts == {"unit.has_laser": False, "unit.year": 1988}
    assert well.true == {"rail_ohms": 2600.0}
    assert well.mends[0].work == "joints-reflowed"
    assert ill.facts == well.facts
    assert (ill.true, ill.wrong) == ({"rail_ohms": 2600.0}, {"rail_ohms": 0.2})
    assert ill.mends == []


def test_a_folder_without_units_has_none(tmp_path):
    units = bench_units.read(tmp_path)
    assert (units.healthy, units.sick) == ((), ())


def test_a_sick_unit_may_stand_in_an_earlier_file_than_its_healthy_one(tmp_path):
    head, sick = UNITS.split("[[sick]]")
    (tmp_path / "a.bench.toml").write_text("[[sick]]" + sick, encoding="utf-8")
    (tmp_path / "b.bench.toml").write_text(head, encoding="utf-8")
    assert [unit.name for unit in bench_units.read(tmp_path).sick] == ["ill"]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('of = "well"', 'of = "nobody"', "there is no unit 'nobody'"),
        ('"unit.year" = 1988', '"unit.age" = 3', "'unit.age' is not a fact"),
        ('"unit.year" = 1988', '"job.returned" = true', "job.returned comes from"),
        ('finding = "joint-cracked"', 'finding = "tired"', "finding is 'tired'"),
        ('rail_ohms = [0.2, "The short."]', "rail_ohms = [0.2]", "must be [number, reason]"),
        ('rail_ohms = [0.2, "The short."]', 'rail_ohms = [true, "x"]', "must be [number, reason]"),
        ('rail_ohms = [0.2, "The short."]', 'rail_ohms = [0.2, ""]', "must be [number, reason]"),
        ('rail_ohms = [0.2, "The short."]', 'amps = [0.2, "x"]', "'amps' is no [[quantity]]"),
        ('of = ["rail_ohms"]', 'of = ["amps"]', "ohms: 'amps' is no quantity"),
        ('name = "ill"', 'name = "well"', "well is there twice"),
        ('before = "full"', 'before = "lunch"', "before is 'lunch'"),
        ("[base]", "[basis]", "[basis] is not known"),
        ("[base]", "[base", "not readable as TOML"),
    ],
)
def test_a_fault_is_named(tmp_path, old, new, said):
    assert said in faults(tmp_path, old, new)


def test_words_that_the_pack_does_not_know_are_named(tmp_path):
    pack = load(tmp_path, rule("year", "unit.year > 1900", "look"), step("look"))
    units = read(tmp_path)
    assert list(bench_units.problems(units, pack)) == [
        "*.bench.toml: reading ohms: no step of the pack reads it."
    ]
    other = read(tmp_path, UNITS.replace('["look"]', '["listen"]'))
    assert "ill: 'listen' is no step of the pack." in "\n".join(bench_units.problems(other, pack))


@pytest.mark.parametrize(
    ("take", "shown"), [("lowest", -40.0), ("highest", -40.0)], ids=["lowest", "by magnitude"]
)
def test_a_reading_of_several_shows_the_worst(take, shown):
    reading = ReadingOf(quantity="volts", of=["a", "b"], take=take)
    assert reading.value({"a": -40.0, "b": 3.0}) == shown
    assert reading.value({"b": 3.0}) == 3.0
    assert reading.value({"c": 3.0}) is None


def test_a_reading_that_no_table_names_shows_the_quantity_of_its_own_name(tmp_path):
    units = read(tmp_path)
    assert units.shown("ohms", {"rail_ohms": 3.0}) == 3.0
    assert units.shown("rail_ohms", {"rail_ohms": 3.0}) == 3.0
    assert units.shown("earth_ohms", {"rail_ohms": 3.0}) is None


def test_units_on_the_bench_are_neither_rules_nor_typical_units(tmp_path):
    read(tmp_path)
    pack = load(tmp_path, rule("year", "unit.year > 1900", "look"), step("look"))
    assert "a" not in {one.file for one in pack.steps.values()}
    assert typical.units(tmp_path) == {}
