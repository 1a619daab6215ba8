from __future__ import annotations

import pytest

from checklists.engine import reading_packs
from checklists.engine.derive import derive
from checklists.engine.pack import PackError
from tests.checklists.engine.packs import load, rule, step, write, write_whole

HOLD = 'gate = "release"\nhold = true'


@pytest.mark.parametrize(
    ("parts", "sentence"),
    [
        ((rule("r", "unit.colour", "a"), step("a")), "undeclared reference"),
        ((rule("r", "unit.kind", "a"), step("a")), "gives STRING"),
        ((rule("r", "true", "b"),), "requires b, which is no step"),
        ((rule("r", "true", "a"), step("a"), step("b")), "b is required by no rule"),
        ((rule("r", "true", "a"), rule("r", "true", "a"), step("a")), "rule r is there already"),
        ((rule("r", "true", "a"), step("a"), step("a")), "step a is there already"),
        ((rule("r", "true", "a"), step("a", 'colour = "red"')), "colour is not known here"),
        ((rule("r", "true", "a"), step("a", "hold = true")), "a hold step needs a gate"),
        (
            (rule("r", "true", "a"), step("a", 'gate = "garden"')),
            "gate is 'garden'; it must be one of",
        ),
        ((rule("r", "true", "a"), step("a", 'after = ["z"]')), "comes after z"),
        (
            (rule("r", "true", "a"), step("a", 'ended_by = ["lunch"]')),
            "ended_by 1, event is 'lunch'; it must be one of",
        ),
        (
            (rule("r", "true", "a"), step("a", 'waivable_by = ["cat"]')),
            "waivable_by 1 is 'cat'; it must be one of",
        ),
        (
            (rule("r", "true", "a"), step("a", 'waivable_by = ["owner"]')),
            "instead is missing; say what is done instead",
        ),
        (
            (rule("r", "true", "a"), step("a", 'instead = "Compare."')),
            "instead belongs to a step that can be waived",
        ),
        (
            (
                rule("r", "true", "a"),
                step("a", 'plan = { calculation = "discharge", arguments = { volts = [] } }'),
            ),
            "it must be text in CEL, or a list of such texts",
        ),
        (
            (
                rule("r", "true", "a"),
                step("a", 'caution = { signal_word = "EEK", text = "x" }'),
            ),
            "signal_word is 'EEK'; it must be one of",
        ),
        (
            (
                rule("r", "true", "a"),
                step("a", 'readings = [{ quantity = "q", unit = "V", max = 1 }]'),
            ),
            "source is missing",
        ),
        (
            (
                rule(
                    "r", "true", "a", more='limits = [{step="a", quantity="q", max=1, source="x"}]'
                ),
                step("a"),
            ),
            "limits a/q, which is no reading",
        ),
        (
            (rule("r", "true", "a").replace("common practice", " "), step("a")),
            "source is empty",
        ),
        (
            (rule("r", "true", "a").replace("Because of r.", "{unit.colour}"), step("a")),
            "because: 'unit.colour' is no fact",
        ),
        (("[[ruler]]\nid = 'x'",), "[ruler] is not known"),
        (("this is = not [ toml",), "not readable as TOML"),
    ],
)
def test_a_fault_in_a_pack_is_told_in_a_sentence(tmp_path, parts, sentence):
    with pytest.raises(PackError) as caught:
        load(tmp_path, *parts)
    assert sentence in str(caught.value)


@pytest.mark.parametrize(
    ("after", "circle"),
    [
        ({"a": "b", "b": "a"}, "a, b"),
        ({"a": "c", "b": "a", "c": "b", "d": "a"}, "a, b, c"),
        ({"a": "a"}, "a"),
    ],
)
def test_steps_that_wait_for_each_other_are_refused_by_name(tmp_path, after, circle):
    steps = [step(key, f'after = ["{before}"]') for key, before in after.items()]
    with pytest.raises(PackError, match=rf"in a circle: {circle}\.$"):
        load(tmp_path, rule("r", "true", *after), *steps)


def test_every_fault_is_told_at_once(tmp_path):
    with pytest.raises(PackError) as caught:
        load(tmp_path, rule("r", "unit.colour", "a"), step("a", 'gate = "garden"'))
    assert len(caught.value.problems) >= 2


def test_an_empty_folder_is_no_pack(tmp_path):
    with pytest.raises(PackError, match="no pack here"):
        reading_packs.load(tmp_path)


def test_the_digest_follows_the_content_and_not_the_layout(tmp_path):
    plain = load(tmp_path / "1", rule("r", "true", "a"), step("a"))
    spaced = load(tmp_path / "2", "# a comment", rule("r", "true", "a"), "", step("a"))
    other = load(tmp_path / "3", rule("r", "false", "a"), step("a"))

    assert plain.digest == spaced.digest
    assert plain.digest != other.digest


@pytest.fixture
def shipped(tmp_path):
    reading = 'readings = [{ quantity = "q", unit = "V", max = 60, source = "x" }]'
    return write_whole(
        tmp_path / "shipped", rule("r", "true", "a"), step("a", f"{HOLD}\n{reading}")
    )


def test_a_house_folder_adds_rules_and_steps(shipped, tmp_path):
    house = write(tmp_path / "house", rule("h", "true", "b"), step("b", HOLD), name="house")
    pack = reading_packs.load(shipped, house)
    assert [s.key for s in derive(pack, {}).gate("release")] == ["a", "b"]


def test_a_house_folder_tightens_limits_and_cannot_loosen_them(shipped, tmp_path):
    def limit(name, volts):
        more = f'limits = [{{ step = "a", quantity = "q", max = {volts}, source = "house" }}]'
        return reading_packs.load(
            shipped, write(tmp_path / name, rule("h", "true", more=more), name="house")
        )

    assert derive(limit("tight", 30), {}).steps[0].readings[0].high == 30
    with pytest.raises(PackError, match=r"house.toml, line \d+: rule h loosens a/q"):
        limit("loose", 90)
    assert derive(limit("worked-out", LOOSE), {"unit.year": 1990}).steps[0].readings[0].high == 60


LOOSE = '{ known = "double(unit.year)", unknown = 99 }'


def test_a_house_folder_cannot_reword_a_shipped_step_or_rule(shipped, tmp_path):
    house = write(tmp_path / "house", step("a"), rule("r", "false", "a"), name="house")
    with pytest.raises(PackError) as caught:
        reading_packs.load(shipped, house)
    assert len([p for p in caught.value.problems if "there already" in p]) == 2
