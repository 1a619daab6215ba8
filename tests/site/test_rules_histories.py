from __future__ import annotations

import io
import json

import pytest
from django.core.management import CommandError, call_command

from tests.checklists.engine.packs import rule, step, write_whole
from tests.checklists.engine.test_mutate import CASES, HAZARD, HOLD

ON = {"kind": "power_applied", "power": "limited"}


@pytest.fixture
def folder(tmp_path):
    pack = tmp_path / "pack"
    write_whole(pack, rule("parts", "false", "look"), step("look", HOLD), HAZARD)
    (pack / "hazards.cases.toml").write_text(CASES, encoding="utf-8")
    return pack


def run(*command: str) -> tuple[str, int]:
    """Return what a command prints and its exit code."""
    out = io.StringIO()
    try:
        call_command("rules", *command, stdout=out, stderr=out)
    except CommandError as error:
        return out.getvalue() + str(error), error.returncode
    return out.getvalue(), 0


def replayed(folder, content) -> tuple[str, int]:
    file = folder / "history.json"
    text = content if isinstance(content, str) else json.dumps(content)
    file.write_text(text, encoding="utf-8")
    return run("replay", str(file), "--pack", str(folder))


def test_a_history_is_told_event_by_event(folder):
    words, code = replayed(folder, {"facts": {}, "events": [ON]})
    assert code == 0
    assert "Power applied (limited): accepted.\n  Up: nothing.\n1 events, none refused." in words


def test_a_history_in_which_an_exposure_meets_a_hazard_ends_with_1(folder):
    work = {"kind": "work_done", "data": {"work": "reservoirs-replaced", "before": True}}
    words, code = replayed(folder, {"events": [work, ON]})
    assert code == 1
    assert "Refused: Title of look: The wrong way round. Not signed yet." in words
    assert "1 of 2 events are refused." in words


@pytest.mark.parametrize(
    ("content", "sentence"),
    [
        ("{", "cannot be read as JSON"),
        ("[]", "A history is a table with facts and events."),
        ({"events": [{"kind": "jumped"}]}, "Event 1: kind is 'jumped'"),
    ],
)
def test_what_is_no_history_ends_with_2_and_a_sentence(folder, content, sentence):
    words, code = replayed(folder, content)
    assert code == 2
    assert sentence in words


def test_a_file_that_is_not_there_ends_with_2_and_a_sentence(folder):
    words, code = run("replay", str(folder / "none.json"), "--pack", str(folder))
    assert code == 2
    assert "none.json cannot be read as JSON" in words


def test_mutants_are_told_with_what_kills_them_and_a_survivor_ends_with_2(folder):
    words, code = run("mutate", "--pack", str(folder))
    assert code == 2
    assert "[1/10] case       reversed: gone: new reservoirs" in words
    assert "survived   reversed: not raised by part_fitted" in words


def test_mutants_that_are_all_told_apart_end_well(folder):
    survivors = [
        "reversed: raised by work_done without electrolytics-replaced",
        "reversed: not raised by part_fitted",
        "reversed: raised by part_fitted from outside as well",
    ]
    named = f'[[equivalent]]\nmutants = {json.dumps(survivors)}\nwhy = "a test"\n'
    (folder / "hazards.equivalents.toml").write_text(named, encoding="utf-8")
    words, code = run("mutate", "--pack", str(folder))
    assert code == 0, words
    assert words.endswith("10 mutants: 6 case, 3 equivalent, 1 purpose.\n")


def test_the_histories_of_a_pack_are_counted_by_its_check(folder):
    words, _ = run("check", "--pack", str(folder))
    assert "[3/3] histories walked" in words
