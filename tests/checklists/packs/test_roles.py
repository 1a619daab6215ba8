"""What the shop asks of a step it asks by role: keys and quantities are the pack's own."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path

import pytest
from django.utils import timezone

from checklists.engine import reading_packs
from checklists.engine.pack import PackError
from checklists.engine.roles import STEP_ROLES, ReadingRole, StepRole
from shop.jobs import commands, soaking
from shop.lib.refusals import Refused
from tests.checklists.engine.packs import copy_of_shipped, replaced
from tests.helpers import amplifier

# Everything that Python could know by name, under another one.
RENAMED = {
    "soak-run": "the-long-run",
    "soak_hours": "run_hours",
    "highest_sink_celsius": "hottest_celsius",
    "clean-trials": "counted-trials",
    "clean_trials": "trials_counted",
    "dc-offset": "standing-volts",
    "offset_millivolts": "standing_millivolts",
}


@pytest.fixture
def folder(tmp_path) -> Path:
    return copy_of_shipped(tmp_path)


@pytest.fixture
def renamed(folder, settings):
    """The shop follows a pack whose steps and quantities have other names."""
    for file in folder.glob("*.toml"):
        text = file.read_text(encoding="utf-8")
        for name, other in RENAMED.items():
            text = re.sub(rf'(?<!role = )"{name}"', f'"{other}"', text)
        file.write_text(text, encoding="utf-8")
    settings.PACK_FOLDER = folder


@pytest.mark.django_db
@pytest.mark.usefixtures("renamed")
class TestUnderOtherNames:
    def test_a_failed_soak_cannot_be_signed_as_passed(self, bench):
        number = bench.receive(facts=amplifier())
        bench.soak(number)
        at = timezone.now() - timedelta(hours=5)
        commands.record(number, "soak_started", {}, by=bench.by, at=at)
        reading = {"quantity": "sink_celsius", "value": 82}
        commands.record(number, "soak_reading", reading, by=bench.by, at=at + timedelta(hours=1))
        bench.record(number, "soak_ended", result="pass")

        with pytest.raises(Refused, match="The soak failed by its readings"):
            bench.sign(number, "the-long-run")

    def test_hours_and_limits_of_the_soak_are_those_of_the_pack(self, bench):
        slow = bench.receive(facts=amplifier(complaint__intermittent=True))
        checklist = bench.traveller(slow).checklist
        limits = soaking.limits_for(checklist)

        assert soaking.plan_for(checklist).hours == 8
        assert limits["sink_celsius"].high == 80
        assert (limits["offset_millivolts"].low, limits["offset_millivolts"].high) == (-50, 50)

    def test_trials_are_counted_and_not_typed(self, bench):
        number = bench.receive(facts=amplifier(complaint__intermittent=True))
        for fault in (True, True, False):
            bench.record(number, "trial_run", fault=fault)
        bench.record(number, "work_done", work="joints-reflowed", board_out=True)
        needed = bench.traveller(number).record.clean_trials_needed
        typed = [("trials_counted", needed)]

        with pytest.raises(Refused, match=rf"trials_counted is {needed}; 0 trials without"):
            bench.sign(number, "counted-trials", readings=typed)


def problems(folder: Path, house: Path | None = None) -> list[str]:
    with pytest.raises(PackError) as caught:
        reading_packs.load(folder, house)
    return caught.value.problems


@pytest.mark.parametrize("role", list(StepRole))
def test_a_pack_without_a_role_does_not_load(folder, role):
    replaced(folder, f'role = "{role}"\n', "")
    for part in STEP_ROLES[role].readings:
        replaced(folder, f'role = "{part}", ', "")
    [problem] = problems(folder)
    assert problem.startswith(f"No step has the role {role}; give it to one: ")
    assert f'role = "{role}"' in problem


@pytest.mark.parametrize("role", [role for role, terms in STEP_ROLES.items() if terms.readings])
def test_a_role_whose_reading_is_not_named_does_not_load(folder, role):
    for part in STEP_ROLES[role].readings:
        replaced(folder, f'role = "{part}", ', "")
    found = "\n".join(problems(folder))
    for part in STEP_ROLES[role].readings:
        assert f"role {role} needs a reading with role {part}" in found


HELD_SOAK = 'hold = true\nafter = ["soak-place"]\nsource = "One eighth'


@pytest.mark.parametrize(
    ("old", "new", "sentence"),
    [
        ('role = "soak"', 'role = "rest"', "role is 'rest'; it must be one of soak, "),
        (
            'role = "hours"',
            'role = "days"',
            "readings 1, role is 'days'; it must be one of hours, ",
        ),
        ('role = "hours"', 'role = "highest-sink"', "role highest-sink is there twice"),
        ('role = "hours"', 'role = "count"', "role count belongs to a step with role clean-trials"),
        ('unit = "h", min = 4', 'unit = "min", min = 240', "soak_hours is in min; role hours"),
        ("max = 80, optional", "optional", "highest_sink_celsius needs max; role highest-sink"),
        ('unit = "trials"', 'unit = "trials", optional = true', "clean_trials is optional"),
        (HELD_SOAK, HELD_SOAK.replace("true", "false"), "role soak needs a hold step"),
    ],
)
def test_a_role_that_is_wrong_is_told_with_its_step(folder, old, new, sentence):
    replaced(folder, old, new)
    [told] = [problem for problem in problems(folder) if sentence in problem]
    assert re.match(r"release\.toml, line \d+: step (soak-run|clean-trials): ", told)


def test_a_reading_has_a_role_only_where_its_step_has_one(folder):
    named = 'quantity = "touch_milliamps", '
    replaced(folder, named, f'{named}role = "hours", ')
    told = "\n".join(problems(folder))
    assert "step touch-current: reading role hours belongs to a step with role soak." in told


SECOND = """
[[step]]
key = "second-soak"
title = "Another soak"
instruction = "Run it again."
phase = "soak"
gate = "release"
role = "soak"
hold = true
source = "common practice"
readings = [
  { quantity = "h", role = "hours", unit = "h", min = 2, source = "common practice" },
  { quantity = "c", role = "highest-sink", unit = "C", max = 90, source = "common practice" },
]

[[rule]]
id = "second-soak"
when = "true"
require = ["second-soak"]
because = "The house wants it."
source = "common practice"
"""


def test_two_steps_with_one_role_are_refused_in_a_house_folder_too(folder, tmp_path):
    house = tmp_path / "house"
    house.mkdir()
    (house / "house.toml").write_text(SECOND, encoding="utf-8")
    [told] = problems(folder, house)
    assert told == "Steps soak-run and second-soak both have the role soak; give it to one step."


def test_a_house_folder_inherits_the_roles_of_the_shipped_pack(folder, tmp_path):
    house = tmp_path / "house"
    house.mkdir()
    plain = re.sub(r'role = "[a-z-]+"(, |\n)', "", SECOND)
    (house / "house.toml").write_text(plain, encoding="utf-8")
    pack = reading_packs.load(folder, house)

    soak = pack.step_with_role(StepRole.SOAK)
    assert soak.key == "soak-run"
    assert soak.reading_with_role(ReadingRole.HOURS).quantity == "soak_hours"


def test_every_role_says_what_the_shop_does_with_it():
    assert set(STEP_ROLES) == set(StepRole)
    assert {part for role in STEP_ROLES.values() for part in role.readings} == set(ReadingRole)
    for role in STEP_ROLES.values():
        assert role.does.endswith(".")
        assert len(role.does) < 120
