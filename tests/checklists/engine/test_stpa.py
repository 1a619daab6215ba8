from __future__ import annotations

import json
import shutil

import pytest
from django.conf import settings

from checklists.engine import case_histories, reading_packs, stpa
from tests.checklists.engine.packs import load, rule, step

HAZARD = """
    [[hazard]]
    key = "blind"
    title = "Not looked at"
    because = "Nobody looked."
    source = "common practice"
    possible = 'true'
    on_arrival = true
    cleared_by = ["look"]
    meets = ["limited"]
"""
HEAD = """
[[loss]]
key = "person"
says = "Somebody is hurt."

[[action]]
key = "mains"
title = "Mains on"
"""
OPEN = 'open = "Look yourself."'
REFUSED = 'replay = "blind"\nby = "blind"'
BLIND = {"events": [{"kind": "power_applied", "power": "limited"}]}
SEEN = {"events": [{"kind": "sign_all"}, {"kind": "power_applied", "power": "limited"}]}


def row(way, answer=OPEN, name="", **over):
    given = {"action": "mains", "happens": "It goes wrong.", "believes": "It is safe."}
    given |= {"record": "Nothing.", "truth": "It is not.", **over}
    lines = [f'{key} = "{value}"' for key, value in given.items()]
    head = [f'id = "{name or way}"', f'way = "{way}"', 'losses = ["person"]']
    return "\n".join(["", "[[row]]", *head, *lines, answer, ""])


def rows(answer=OPEN):
    return row("given", answer) + row("not-given") + row("timing") + row("duration")


def write(folder, text):
    (folder / stpa.FILE).write_text(text, encoding="utf-8")


def faults(folder, text):
    write(folder, text)
    with pytest.raises(stpa.StpaError) as caught:
        stpa.read(folder)
    return caught.value.problems


@pytest.fixture
def pack(tmp_path):
    look = step("look", 'hold = true\ngate = "first-power"\nneeds_power = ["isolated"]')
    return load(tmp_path, rule("all", "true", "look"), look, HAZARD)


def judged(pack, folder, text, **histories):
    write(folder, text)
    replays = folder / stpa.REPLAYS
    replays.mkdir()
    for name, history in histories.items():
        (replays / f"{name}.json").write_text(json.dumps(history), encoding="utf-8")
    hands = case_histories.hands_of(folder)
    return list(stpa.problems(stpa.read(folder), pack, folder, hands))


# The table.


def test_a_whole_table_is_read_in_its_order(tmp_path):
    write(tmp_path, HEAD + rows(REFUSED))
    analysis = stpa.read(tmp_path)
    assert [r.way for r in analysis.rows] == ["given", "not-given", "timing", "duration"]
    assert (analysis.replays, analysis.left_open) == ({"blind"}, 3)


def test_a_folder_without_a_table_has_no_analysis(tmp_path):
    assert stpa.read(tmp_path) is None


@pytest.mark.parametrize(
    ("answer", "fault"),
    [
        ("", "has neither replay nor open; one of them is the answer."),
        (f"{REFUSED}\n{OPEN}", "has both replay and open; one of them is the answer."),
        ('replay = "blind"', "needs by beside a replay, and only there."),
        (f'{OPEN}\nby = "blind"', "needs by beside a replay, and only there."),
    ],
)
def test_a_row_has_one_answer(tmp_path, answer, fault):
    assert faults(tmp_path, HEAD + rows(answer)) == [
        f"stpa.toml: row given: {fault}",
        "stpa.toml: action mains has no row for the way given.",
    ]


def test_every_way_of_an_action_has_a_row(tmp_path):
    text = HEAD + row("given") + row("not-given") + row("timing")
    assert faults(tmp_path, text) == ["stpa.toml: action mains has no row for the way duration."]


def test_names_that_lead_nowhere_or_stand_twice_are_told(tmp_path):
    text = HEAD + HEAD + rows() + row("given", action="mians") + row("given", name="other")
    text = text.replace(
        'losses = ["person"]\naction = "mians"', 'losses = ["pride"]\naction = "mians"'
    )
    assert faults(tmp_path, text) == [
        "stpa.toml: loss person is there twice.",
        "stpa.toml: action mains is there twice.",
        "stpa.toml: row given is there twice.",
        "stpa.toml: row given: mians is no action of the table.",
        "stpa.toml: row given: pride is no loss of the table.",
    ]


def test_unknown_ways_keys_and_tables_are_told(tmp_path):
    text = HEAD + rows() + row("sideways") + row("given", OPEN + "\nwhen = true", "more")
    problems = faults(tmp_path, text + "\n[[rows]]\n")
    assert problems[0] == "stpa.toml: [rows] is not known; use loss, action, row."
    assert "row sideways: way is 'sideways'; it must be one of not-given" in problems[1]
    assert "row more: when is not known here" in problems[2]


@pytest.mark.parametrize("text", ["[[loss", "row = 3", "[row]\nid = 'x'"])
def test_what_is_no_table_is_a_sentence(tmp_path, text):
    assert all(p.startswith("stpa.toml: ") for p in faults(tmp_path, text))


def test_empty_words_are_told(tmp_path):
    problems = faults(tmp_path, HEAD + rows() + row("given", name="more", truth=""))
    assert problems == ["stpa.toml: row more: truth is ''; it must be text that is not empty."]


# Its replays.


def test_a_replay_that_is_refused_as_its_row_says_shows_nothing(pack, tmp_path):
    assert judged(pack, tmp_path, HEAD + rows(REFUSED), blind=BLIND) == []


def test_a_step_names_the_reason_as_well(pack, tmp_path):
    text = HEAD + rows('replay = "blind"\nby = "look"')
    assert judged(pack, tmp_path, text, blind=BLIND) == []


def test_a_replay_that_is_accepted_answers_nothing(pack, tmp_path):
    assert judged(pack, tmp_path, HEAD + rows(REFUSED), blind=SEEN) == [
        "replays/blind.json: replay: the last event (Power applied (limited)) is accepted."
    ]


def test_a_replay_that_is_refused_for_something_else_answers_nothing(pack, tmp_path):
    text = HEAD + rows('replay = "blind"\nby = "no-limiter"')
    assert judged(pack, tmp_path, text, blind=BLIND) == [
        "replays/blind.json: row given says refused by no-limiter; it is refused by blind, look."
    ]


def test_a_replay_that_is_refused_too_early_is_told(pack, tmp_path):
    early = {"events": [*BLIND["events"], *BLIND["events"]]}
    problems = judged(pack, tmp_path, HEAD + rows(REFUSED), blind=early)
    assert [p[:44] for p in problems] == ["replays/blind.json: replay: event 1 (Power a"]


def test_missing_and_unused_replays_are_told(pack, tmp_path):
    assert judged(pack, tmp_path, HEAD + rows(REFUSED), idle=BLIND) == [
        "stpa.toml: replays/blind.json is not there.",
        "replays/idle.json: no row of stpa.toml is answered by it.",
    ]


def test_a_replay_without_events_answers_nothing(pack, tmp_path):
    problems = judged(pack, tmp_path, HEAD + rows(REFUSED), blind={"events": []})
    assert problems == [
        "replays/blind.json: row given says refused by blind; it is refused by nothing."
    ]


def test_a_replay_that_cannot_be_read_is_a_sentence(pack, tmp_path):
    problems = judged(pack, tmp_path, HEAD + rows(REFUSED), blind={"events": [{"kind": "jump"}]})
    assert [p[:25] for p in problems] == ["replays/blind.json: repla"]
    (tmp_path / stpa.REPLAYS / "blind.json").write_text("{", encoding="utf-8")
    hands = case_histories.hands_of(tmp_path)
    problems = list(stpa.problems(stpa.read(tmp_path), pack, tmp_path, hands))
    assert [p[:40] for p in problems] == ["replays/blind.json: not readable as JSON"]


# The shipped table.


def shipped_problems(folder):
    pack, hands = reading_packs.load(folder), case_histories.hands_of(folder)
    return list(stpa.problems(stpa.read(folder), pack, folder, hands))


def test_every_shipped_row_is_answered_as_it_says():
    assert shipped_problems(settings.PACK_FOLDER) == []


def test_the_shipped_table_notices_a_hazard_that_is_gone(tmp_path):
    folder = shutil.copytree(settings.PACK_FOLDER, tmp_path / "packs")
    text = (folder / "hazards.toml").read_text(encoding="utf-8")
    meets = 'cleared_by = ["verify-dead"]\nmeets = ["hands"]'
    assert meets in text
    (folder / "hazards.toml").write_text(
        text.replace(meets, meets.replace("hands", "live")), encoding="utf-8"
    )
    named = [p.partition(":")[0] for p in shipped_problems(folder)]
    assert "replays/hands-in-a-unit-that-was-charged-again.json" in named
