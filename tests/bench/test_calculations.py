"""A calculation as shell, page and plan see it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import pytest

from shop.bench.calculations import Calculation, Input


@dataclass(frozen=True)
class Sum:
    total_volts: float


def added(
    first_volts: float,
    others_volts: Sequence[float],
    names: Sequence[str] = (),
    *,
    mode: Literal["plain", "rms"] = "plain",
    count: int = 3,
    loaded: bool = False,
    note: str = "",
    limit_volts: float | None = None,
) -> Sum:
    """Return the `sum` of some voltages.

    Formula: V = V1 + V2
      + V3.
    Caution: DANGER. High voltage.
    Source: arithmetic.
    """
    return Sum(first_volts + sum(others_volts))


ADDED = Calculation(name="add-volts", group="Sums", function=added)


def test_inputs_are_read_off_the_function():
    kinds = {name: (asked.kind, asked.needed) for name, asked in ADDED.inputs.items()}
    assert kinds == {
        "first_volts": ("number", True),
        "others_volts": ("numbers", True),
        "names": ("texts", False),
        "mode": ("word", False),
        "count": ("whole", False),
        "loaded": ("yes-no", False),
        "note": ("text", False),
        "limit_volts": ("number", False),
    }
    assert ADDED.inputs["mode"].words == ("plain", "rms")


def test_what_a_form_shows_of_an_input():
    assert ADDED.inputs["first_volts"].label == "First (V)"
    assert ADDED.inputs["note"].label == "Note"
    assert [asked.many for asked in ADDED.inputs.values()][:3] == [False, True, True]
    defaults = {name: asked.default_text for name, asked in ADDED.inputs.items()}
    assert (defaults["mode"], defaults["count"]) == ("plain", "3")
    assert (defaults["loaded"], defaults["limit_volts"], defaults["note"]) == ("", "", "")
    assert Input(name="hours", kind="number", default=4.0).default_text == "4"


def test_the_words_are_those_of_the_docstring():
    assert ADDED.title == "Add volts"
    assert ADDED.about == "Return the `sum` of some voltages."
    assert ADDED.does == "The sum of some voltages."
    assert ADDED.formula == "V = V1 + V2 + V3."
    assert ADDED.source == "arithmetic."
    assert ADDED.warns == {"signal_word": "DANGER", "text": "High voltage."}
    assert Calculation(name="bare", group="", function=lambda: Sum(0)).warns == {}


@pytest.mark.parametrize(
    ("arguments", "sentence"),
    [
        ({"amps": 1}, "amps is not an input of add-volts; it takes first_volts"),
        ({"others_volts": []}, "add-volts also needs first_volts"),
        ({"first_volts": [1], "others_volts": []}, r"first_volts is \[1\]; it must be one value"),
        ({"first_volts": 1, "others_volts": 2}, "others_volts is 2; it must be a list"),
        ({"first_volts": 1, "others_volts": [], "names": [1]}, "it must be a list of texts"),
    ],
)
def test_what_is_missing_or_too_much_is_named(arguments, sentence):
    with pytest.raises(ValueError, match=sentence):
        ADDED.run(arguments)


def test_a_result_holds_no_number_that_json_does_not_know():
    assert ADDED.run({"first_volts": 1.0, "others_volts": [2.0]}) == {"total_volts": 3.0}
    assert ADDED.run({"first_volts": float("inf"), "others_volts": []}) == {"total_volts": None}
