from __future__ import annotations

import pytest

from checklists.engine.derive import derive
from checklists.engine.pack import PackError
from tests.checklists.engine.packs import hold, load, rule, step

CARD = """
    [[card]]
    name = "test"
    title = "Electrical test"
"""
ALL = rule("r", "true", "a", "b")


def in_card(key, gate="release", more=""):
    return hold(key, gate, f'together = "test"\n{more}')


def problems(folder, *parts):
    with pytest.raises(PackError) as caught:
        load(folder, *parts)
    return "\n".join(caught.value.problems)


def test_steps_of_one_card_are_one_thing_to_do_and_keep_their_keys(tmp_path):
    more = rule("more", "true", "c")
    pack = load(tmp_path, CARD, ALL, more, in_card("a"), in_card("b"), hold("c", "release"))
    checklist = derive(pack, {})
    assert [step.key for step in checklist.gate("release")] == ["a", "b", "c"]
    one, other = checklist.cards("release")
    assert ([s.key for s in one.steps], one.title) == (["a", "b"], "Electrical test")
    assert ([s.key for s in other.steps], other.title, other.card) == (["c"], "Title of c", None)
    assert not one.stands
    assert checklist.by_key["a"].as_dict()["together"] == "test"
    assert checklist.by_key["c"].as_dict()["together"] is None


def test_a_card_of_which_one_step_is_called_for_has_the_title_of_that_step(tmp_path):
    rules = [rule("one", "true", "a"), rule("other", "unit.has_laser", "b")]
    pack = load(tmp_path, CARD, *rules, in_card("a"), in_card("b"))
    [card] = derive(pack, {"unit.has_laser": False}).cards("release")
    assert card.title == "Title of a"
    [card] = derive(pack, {"unit.has_laser": True}).cards("release")
    assert card.title == "Electrical test"


def test_one_card_at_two_gates_is_counted_at_each(tmp_path):
    pack = load(tmp_path, CARD, ALL, in_card("a", "soak"), in_card("b"))
    checklist = derive(pack, {})
    assert [len(checklist.cards(gate)) for gate in ("soak", "release")] == [1, 1]


@pytest.mark.parametrize(
    ("parts", "sentence"),
    [
        ([ALL, in_card("a"), step("b")], "a is done together with test, which is no card"),
        ([CARD, ALL, in_card("a"), step("b")], "Card test has 1 steps; a card is for several."),
        ([CARD, ALL, step("a"), step("b")], "Card test has 0 steps"),
        (
            [
                *(CARD, ALL, in_card("a", more='needs_power = ["full"]')),
                in_card("b", more='needs_power = ["isolated"]'),
            ],
            "Card test at release: a, b are not done under the same power.",
        ),
        (
            [
                *(CARD, ALL, in_card("a", more='needs_cover = "on"')),
                in_card("b", more='needs_cover = "off"'),
            ],
            "Card test at release: a, b are not done with the same cover.",
        ),
        (
            [
                *(CARD, ALL, in_card("a", more='signed_by = ["owner"]')),
                in_card("b", more='signed_by = ["technician"]'),
            ],
            "Card test: no role signs all of its steps.",
        ),
        ([CARD, CARD, ALL, in_card("a"), in_card("b")], "card test is there already"),
        (
            [CARD.replace("title", "words"), ALL, in_card("a"), in_card("b")],
            "card test: words is not known here; use name, title.",
        ),
    ],
)
def test_a_card_that_cannot_be_done_in_one_go_does_not_load(tmp_path, parts, sentence):
    assert sentence in problems(tmp_path, *parts)


def test_other_needs_at_another_gate_do_not_contradict(tmp_path):
    covers = in_card("a", "soak", 'needs_cover = "on"'), in_card("b", more='needs_cover = "off"')
    assert load(tmp_path, CARD, ALL, *covers).cards["test"].title == "Electrical test"


@pytest.mark.parametrize(
    ("fact", "sentence"),
    [
        ("findings", "findings follows from the record of the job; nobody can be asked for it."),
        ("job.power", "job.power follows from the record"),
        ("unit.colour", "'unit.colour' is no fact of the vocabulary."),
    ],
)
def test_what_nobody_can_be_asked_for_is_no_answer(tmp_path, fact, sentence):
    parts = rule("r", "true", "a"), step("a", f'answers = ["{fact}"]')
    assert sentence in problems(tmp_path, *parts)


def test_a_step_asks_for_what_is_not_recorded_yet(tmp_path):
    asking = step("a", 'answers = ["intake.damage", "unit.rail_volts", "unit.has_laser"]')
    pack = load(tmp_path, rule("r", "true", "a"), asking)
    asked = derive(pack, {"unit.has_laser": False}).by_key["a"].as_dict()["answers"]
    assert [one["fact"] for one in asked] == ["intake.damage", "unit.rail_volts"]
    assert (asked[0]["kind"], asked[0]["one_of"][:2]) == ("list", ["none", "dented"])
    assert asked[1] == {"fact": "unit.rail_volts", "kind": "double", "unit": "V"}


def test_what_is_asked_is_no_part_of_what_was_signed(tmp_path):
    plain = load(tmp_path / "one", rule("r", "true", "a"), step("a"))
    asking = load(
        tmp_path / "two", rule("r", "true", "a"), step("a", 'answers = ["unit.has_laser"]')
    )
    assert derive(plain, {}).steps[0].content_hash == derive(asking, {}).steps[0].content_hash
    assert plain.digest != asking.digest
