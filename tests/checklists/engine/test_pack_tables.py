"""Packs that are wrong in any place: each is told in sentences, none ends in a traceback."""

from __future__ import annotations

import copy
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklists.engine import reading_packs
from checklists.engine.pack import PackError
from tests.checklists.engine.packs import rule, step, write_whole

JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=5,
)
READING = """
readings = [{ quantity = "ohms", unit = "ohm", max = { known = "1.0", unknown = 0.3 }, source = "x" }]
plan = { calculation = "discharge", arguments = { volts = "unit.rail_volts" } }
caution = { signal_word = "DANGER", text = "Careful." }
after = ["other"]
gate = "release"
hold = true
ended_by = ["received", { event = "work_done", work = ["relay-replaced"], section = ["supply"] }]
"""
OWN = {
    "pack": {"name": "own", "version": "2"},
    "rule": [
        {
            "id": "own",
            "when": "unit.has_laser",
            "require": ["look"],
            "because": "It has a laser: {unit.has_laser}.",
            "source": "common practice",
            "limits": [{"step": "test", "quantity": "ohms", "max": 0.1, "source": "x"}],
        }
    ],
    "step": [
        {
            "key": "look",
            "title": "Look",
            "instruction": "Look at it.",
            "phase": "work",
            "gate": "release",
            "gate_once_opened": "release",
            "hold": True,
            "after": ["other"],
            "caution": {"signal_word": "DANGER", "text": "Careful."},
            "readings": [
                {
                    "quantity": "volts",
                    "title": "Volts",
                    "unit": "V",
                    "min": 1,
                    "max": {"known": "unit.rail_volts", "unknown": 60},
                    "optional": True,
                    "source": "x",
                }
            ],
            "plan": {
                "calculation": "discharge",
                "arguments": {"volts": ["unit.rail_volts", "unit.rail_total_volts / 2.0"]},
            },
            "ended_by": [
                "received",
                {
                    "event": "work_done",
                    "work": ["relay-replaced"],
                    "finding": ["joint-cracked"],
                    "section": ["supply"],
                    "except_section": ["front-panel"],
                },
            ],
            "signed_by": ["owner"],
            "waivable_by": ["owner"],
            "instead": "Compare with the other channel.",
            "not_applicable": True,
            "second_person": True,
            "needs_power": ["full"],
            "source": "common practice",
        }
    ],
    "suspect": [
        {
            "key": "laser",
            "title": "The laser",
            "when": "unit.has_laser",
            "weight": 1,
            "minutes": 5,
            "test": "Measure it.",
            "section": "mechanism",
            "more_when": "unit.moving_parts",
            "times": 2,
            "source": "common practice",
        }
    ],
}


@pytest.fixture(scope="module")
def shipped(tmp_path_factory):
    folder = tmp_path_factory.mktemp("shipped")
    return write_whole(
        folder, rule("r", "true", "test", "other"), step("test", READING), step("other")
    )


def places(value, path=()):
    """Yield the path of everything inside a table."""
    yield path
    inside = value.items() if isinstance(value, dict) else ()
    for key, part in list(enumerate(value)) if isinstance(value, list) else inside:
        yield from places(part, (*path, key))


PLACES = [path for path in places(OWN) if path]


def with_value(path, value):
    changed = copy.deepcopy(OWN)
    holder = changed
    for key in path[:-1]:
        holder = holder[key]
    holder[path[-1]] = value
    return changed


def faults(shipped, own):
    """Return the sentences about a pack; none when it is taken."""
    try:
        pack = reading_packs.load(shipped, own=own)
    except PackError as error:
        return error.problems or ["a pack was refused without a word"]
    assert pack.rank.keys() == pack.steps.keys()
    return []


def test_the_tables_themselves_are_a_pack(shipped):
    assert faults(shipped, OWN) == []


WRONG = [
    None, True, 3, -1.5, "word", "", [], ["word"], [3], [[]], {}, {"word": 3}, float("nan"), 10**400,
]  # fmt: skip


@pytest.mark.parametrize("path", PLACES, ids=lambda path: "/".join(map(str, path)))
@pytest.mark.parametrize("value", WRONG, ids=lambda value: f"{value!r:.12}")
def test_a_wrong_value_in_any_place_is_taken_or_told(shipped, path, value):
    for sentence in faults(shipped, with_value(path, value)):
        assert re.search(r"\w.*\w", sentence)
        assert "\n" not in sentence
        assert "Traceback" not in sentence


@given(st.sampled_from(PLACES), JSON)
def test_any_value_in_any_place_is_taken_or_told(shipped, path, value):
    assert all(faults(shipped, with_value(path, value)))


@pytest.mark.parametrize(
    ("path", "value", "sentence"),
    [
        (("step", 0, "hold"), "false", "hold is 'false'; it must be true or false."),
        (("step", 0, "not_applicable"), 1, "not_applicable is 1; it must be true or false."),
        (
            ("step", 0, "readings", 0, "optional"),
            "no",
            "readings 1, optional is 'no'; it must be true or false.",
        ),
        (
            ("step", 0, "readings", 0, "max"),
            "60",
            "readings 1, max is '60'; it must be a number, or { known = 'CEL', unknown = number }.",
        ),
        (
            ("step", 0, "readings", 0, "max"),
            {"known": "unit.rail_volts"},
            "readings 1, max: unknown is missing.",
        ),
        (("step", 0, "after"), "other", "after is 'other'; it must be a list."),
        (("step", 0, "title"), "", "title is ''; it must be text that is not empty."),
        (("step", 0, "plan"), "discharge", "plan is 'discharge'; it must be a table."),
        (
            ("step", 0, "ended_by", 1, "work"),
            ["lunch"],
            "ended_by 2, work 1 is 'lunch'; it must be",
        ),
        (("rule", 0, "when"), 3, "when is 3; it must be text in CEL."),
        (("rule", 0, "because"), "{unit.colour}", "because: 'unit.colour' is no fact"),
        (("rule", 0, "source"), "  ", "source is empty; name the publication"),
        (("suspect", 0, "weight"), 0, "weight is 0.0; it must be above 0 and below 10\u202f000."),
        (("suspect", 0, "minutes"), float("inf"), "minutes is inf; it must be a number."),
        (("suspect", 0), "laser", "suspect (unnamed): is 'laser'; it must be a table."),
        (("suspect",), "laser", "suspect is 'laser'; write [[suspect]]."),
        (("pack", "name"), 3, "pack: name is 3; it must be text."),
    ],
)
def test_a_wrong_value_is_told_with_what_would_be_right(shipped, path, value, sentence):
    assert sentence in "\n".join(faults(shipped, with_value(path, value)))


def test_every_fault_of_a_table_is_told_at_once(shipped):
    wrong = with_value(("step", 0, "hold"), "yes")
    del wrong["step"][0]["title"]
    told = "\n".join(faults(shipped, wrong))
    assert "title is missing." in told
    assert "hold is 'yes'" in told
