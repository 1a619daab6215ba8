from __future__ import annotations

import pytest

from checklists.engine import case_histories
from checklists.engine.happenings import HistoryError
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
CASE = """
[[case]]
name = "blind"
physics = "Nobody looked."
events = [{ kind = "power_applied", power = "limited" }]

[[case]]
name = "looked at"
physics = "It was looked at."
allowed = true
events = [{ kind = "sign_all" }, { kind = "power_applied", power = "limited" }]
"""


@pytest.fixture
def pack(tmp_path):
    look = step("look", 'hold = true\ngate = "first-power"\nneeds_power = ["isolated"]')
    return load(tmp_path, rule("all", "true", "look"), look, HAZARD)


def judged(pack, folder, text, honest=""):
    (folder / "hazards.cases.toml").write_text(text, encoding="utf-8")
    (folder / "hazards.honest.toml").write_text(honest, encoding="utf-8")
    hands = case_histories.hands_of(folder)
    return [
        s for case in case_histories.read(folder) for s in case_histories.judge(pack, case, hands)
    ]


def test_cases_that_end_as_written_show_nothing(pack, tmp_path):
    assert judged(pack, tmp_path, CASE) == []


def test_a_last_event_that_is_accepted_is_told(pack, tmp_path):
    text = CASE.replace("allowed = true\n", "")
    assert judged(pack, tmp_path, text) == [
        "hazards.cases.toml: looked at: the last event (Power applied (limited)) is accepted."
    ]


def test_an_event_before_the_last_that_is_refused_is_told(pack, tmp_path):
    text = CASE.replace(
        '[{ kind = "power', '[{ kind = "power_applied", power = "limited" }, { kind = "power'
    )
    assert judged(pack, tmp_path, text) == [
        "hazards.cases.toml: blind: event 1 (Power applied (limited)) is refused:"
        " Title of look: Not looked at. Not signed yet."
    ]


def test_a_history_that_cannot_be_read_is_told_with_its_case(pack, tmp_path):
    assert judged(pack, tmp_path, CASE.replace('"sign_all"', '"sign_everything"'))[0].startswith(
        "hazards.cases.toml: looked at: Event 1: kind is 'sign_everything'; it must be one of"
    )


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        (
            'physics = "Nobody',
            'physic = "Nobody',
            "hazards.cases.toml: case 1: physic is not known",
        ),
        ("[[case]]", "[[case", "hazards.cases.toml: not readable as TOML"),
    ],
)
def test_a_file_that_cannot_be_read_is_told(pack, tmp_path, old, new, sentence):
    with pytest.raises(HistoryError, match=r"hazards\.cases\.toml") as error:
        judged(pack, tmp_path, CASE.replace(old, new, 1))
    assert sentence in str(error.value)


UNMENDED = """
[[unmended]]
step = "look"
finding = "fuse-wrong"
mended_by = ["fuse-replaced"]
"""
FOUND = """
[[case]]
name = "found"
physics = "It is wrong still."
events = [
  { kind = "finding_recorded", finding = "fuse-wrong", section = "left" },
  EVENT
  { kind = "sign_all" }, { kind = "power_applied", power = "limited" },
]
"""
MENDED = '{ kind = "work_done", work = "fuse-replaced", from_outside = true, section = "SECTION" },'


@pytest.mark.parametrize(
    ("event", "refused"),
    [
        ("", True),
        (MENDED.replace("SECTION", "left"), False),
        (MENDED.replace("SECTION", ""), False),
        (MENDED.replace("SECTION", "right"), True),
        ('{ kind = "entry_withdrawn", row = 1 },', False),
    ],
)
def test_honest_hands_do_not_sign_what_no_work_has_mended(pack, tmp_path, event, refused):
    text = FOUND.replace("EVENT", event)
    assert judged(pack, tmp_path, text, UNMENDED) == (
        []
        if refused
        else ["hazards.cases.toml: found: the last event (Power applied (limited)) is accepted."]
    )


def test_a_fault_told_at_intake_counts_as_well(pack, tmp_path):
    text = FOUND.replace(
        '{ kind = "finding_recorded", finding = "fuse-wrong", section = "left" },', ""
    )
    text = text.replace("EVENT", "").replace(
        "events", 'facts = { "intake.damage" = ["fuse-bridged"] }\nevents'
    )
    honest = UNMENDED.replace(
        'finding = "fuse-wrong"', 'fact = "intake.damage"\nvalue = "fuse-bridged"'
    )
    assert judged(pack, tmp_path, text, honest) == []


def test_a_table_of_honest_hands_that_cannot_be_read_is_told(pack, tmp_path):
    with pytest.raises(HistoryError, match=r"hazards\.honest\.toml: finding is 'rust'; it must be"):
        judged(pack, tmp_path, CASE, UNMENDED.replace("fuse-wrong", "rust"))
