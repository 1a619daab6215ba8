from __future__ import annotations

import pytest

from checklists.engine import properties
from checklists.engine.claims import AnyHold, Holds, LimitAtLeast, Listed, NotListed
from checklists.engine.derive import derive
from tests.checklists.engine.packs import load, rule, step

HELD = 'gate = "release"\nhold = true\nreadings = [{quantity="q", unit="V", max=60, min=1, source="x"}]'


@pytest.fixture
def pack(tmp_path):
    return load(tmp_path, rule("r", "unit.has_laser", "a", "b"), step("a", HELD), step("b"))


def read(folder, pack, text, head="[[property]]\n"):
    (folder / "p.properties.toml").write_text(head + text, encoding="utf-8")
    return properties.read(folder, pack)


NAMED = "id = 'p'\nsays = 's'\n"


@pytest.mark.parametrize(
    ("text", "claim"),
    [
        ("hold = ['a']\ngate = 'release'", Holds(("a",), "release")),
        ("any_hold = ['a', 'b']\ngate = 'soak'", AnyHold(("a", "b"), "soak")),
        ("listed = ['a']", Listed(("a",))),
        ("not_listed = ['b']", NotListed(("b",))),
    ],
)
def test_a_claim_is_read_as_what_it_is(tmp_path, pack, text, claim):
    [found] = read(tmp_path, pack, NAMED + text)
    assert (found.id, found.says, found.claim) == ("p", "s", claim)
    assert (found.premise.certain, found.premise.possible, found.premise.touched) == (None,) * 3


def test_limit_and_premise_are_read(tmp_path, pack):
    premise = "if = 'unit.has_laser'\nif_possible = 'unit.moving_parts'\ntouched = true\n"
    text = "limit = { step = 'a', quantity = 'q', max = 60 }"
    [found] = read(tmp_path, pack, NAMED + premise + text)
    assert found.claim == LimitAtLeast(step=pack.steps["a"], quantity="q", high=60.0)
    assert found.premise.certain.source == "unit.has_laser"
    assert found.premise.possible.source == "unit.moving_parts"
    assert found.premise.touched is True


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("id = 'p'\nlisted = ['a']", "p: says is missing"),
        ("says = 's'\nlisted = ['a']", "(unnamed): id is missing"),
        (NAMED, "make one claim, not 0"),
        (NAMED + "listed = ['a']\nnot_listed = ['b']", "make one claim, not 2"),
        (NAMED + "listed = ['x']", "x is no step"),
        (NAMED + "hold = ['a']\ngate = 'garden'", "gate is 'garden'"),
        (NAMED + "any_hold = ['a']", "gate is None"),
        (NAMED + "listed = ['a']\nif = 'unit.colour'", "undeclared"),
        (NAMED + "listed = ['a']\nif_possible = 'unit.kind'", "gives STRING"),
        (NAMED + "listed = ['a']\nwhen = 'true'", "when is not known"),
        (NAMED + "limit = { step = 'x', quantity = 'q', max = 1 }", "x is no step"),
        (NAMED + "limit = { step = 'a', quantity = 'z', max = 1 }", "'z' is no reading of a"),
        (NAMED + "limit = { step = 'a', quantity = 'q' }", "limit needs min or max"),
        (NAMED + "limit = { step = 'a', max = 1 }", "quantity is missing"),
        (NAMED + "limit = { step = 'a', quantity = 'q', most = 1 }", "most is not known"),
    ],
)
def test_a_property_that_cannot_be_read_is_told(tmp_path, pack, text, sentence):
    with pytest.raises(properties.PropertyError) as caught:
        read(tmp_path, pack, text)
    assert str(caught.value).startswith("p.properties.toml: property ")
    assert sentence in str(caught.value)


def test_two_properties_of_one_name_are_told(tmp_path, pack):
    one = NAMED + "listed = ['a']\n"
    with pytest.raises(properties.PropertyError, match="there twice: p"):
        read(tmp_path, pack, f"{one}[[property]]\n{one}")


def test_a_file_that_is_no_toml_is_told(tmp_path, pack):
    with pytest.raises(properties.PropertyError, match=r"p.properties.toml: not readable as TOML"):
        read(tmp_path, pack, "this is = not [ toml", head="")


def test_a_folder_without_properties_has_none(tmp_path, pack):
    assert properties.read(tmp_path, pack) == []


LASER, NONE = {"unit.has_laser": True}, {"unit.has_laser": False}


@pytest.mark.parametrize(
    ("claim", "facts", "kept"),
    [
        (Holds(("a",), "release"), LASER, True),
        (Holds(("a", "b"), "release"), LASER, False),
        (Holds(("a",), "soak"), LASER, False),
        (Holds(("a",), "release"), NONE, False),
        (AnyHold(("b", "a"), "release"), LASER, True),
        (AnyHold(("b",), "release"), LASER, False),
        (Listed(("a", "b")), LASER, True),
        (Listed(("a",)), NONE, False),
        (NotListed(("a",)), NONE, True),
        (NotListed(("b", "a")), LASER, False),
    ],
)
def test_the_engine_s_side_of_a_claim(pack, claim, facts, kept):
    assert claim.kept_by(derive(pack, facts)) is kept


@pytest.mark.parametrize(
    ("ends", "facts", "kept"),
    [
        ({"high": 60}, LASER, True),
        ({"high": 59}, LASER, False),
        ({"low": 1}, LASER, True),
        ({"low": 2}, LASER, False),
        ({"low": 1, "high": 60}, LASER, True),
        ({"low": 1, "high": 60}, NONE, False),
    ],
)
def test_a_limit_is_kept_when_what_is_in_force_is_as_strict(pack, ends, facts, kept):
    claim = LimitAtLeast(step=pack.steps["a"], quantity="q", **ends)
    assert claim.kept_by(derive(pack, facts)) is kept


def test_an_open_end_keeps_no_limit(tmp_path):
    more = 'readings = [{quantity="q", unit="V"}]'
    pack = load(tmp_path, rule("r", "true", "a"), step("a", more))
    for end in ("low", "high"):
        claim = LimitAtLeast(step=pack.steps["a"], quantity="q", **{end: 1.0})
        assert not claim.kept_by(derive(pack, {}))
