from __future__ import annotations

import pytest

from checklists.engine import checking_hazards
from checklists.engine.pack import PackError
from tests.checklists.engine.packs import hazard, hold, load, rule, step

INSIDE = 'needs_power = ["isolated"]\nneeds_cover = "off"'


def told(folder, *parts) -> list[str]:
    """Return what loading says against the parts; nothing when they are a pack."""
    try:
        load(folder, rule("all", "true", "dead", "own"), *parts)
    except PackError as error:
        return error.problems
    return []


DEAD = hold("dead", "hands-in", INSIDE)
OWN = hold("own")
CHARGED = hazard("charged", "dead", "hands")


def test_a_table_that_fits_its_steps_is_a_pack(tmp_path):
    assert told(tmp_path, DEAD, OWN, CHARGED) == []


@pytest.mark.parametrize(
    ("parts", "sentence"),
    [
        (
            (DEAD, OWN, hazard("charged", "nothing", "hands")),
            "Hazard charged is cleared by nothing, which is no step.",
        ),
        (
            (DEAD, step("own"), hazard("charged", "own", "hands")),
            "Hazard charged is cleared by own, which is no hold step.",
        ),
        (
            (DEAD, OWN, hazard("charged", "dead", "hands", possible='job.power == "full"')),
            "Hazard charged: possible reads job.power; write it as an event or exposure.",
        ),
        (
            (DEAD, OWN, hazard("charged", "dead", "hands", possible='job.stage == "opened"')),
            "Hazard charged: possible reads job.stage; write it as an event or exposure.",
        ),
        (
            (DEAD, hold("own", more='needs_steps = ["nothing"]'), CHARGED),
            "Step own needs nothing, which is no step.",
        ),
        (
            (DEAD, hold("own", more='clears = ["nothing"]'), CHARGED),
            "Step own clears nothing, which is no hazard.",
        ),
        (
            (DEAD, step("own", 'clears = ["charged"]'), CHARGED),
            "Step own clears charged; only a hold step can.",
        ),
        (
            (
                DEAD,
                hold("own", more='clears = ["charged"]'),
                hazard("charged", "dead", "hands", more="on_arrival = true\nany_clears = true"),
            ),
            "Step own would loosen hazard charged, which any of its steps clears.",
        ),
        (
            (
                hold("dead", "hands-in", 'waivable_by = ["owner"]\ninstead = "Wait an hour."'),
                OWN,
                CHARGED,
            ),
            "Step dead can be waived, and hazard charged meets a hand; nobody can.",
        ),
        (
            (DEAD, hold("own", "limited-power", 'needs_power = ["full"]'), CHARGED),
            "Step own needs power full, which its gate limited-power forbids until it stands.",
        ),
        (
            (DEAD, hold("own", "full-power", 'needs_power = ["full"]'), CHARGED),
            "Step own needs power full, which its gate full-power forbids until it stands.",
        ),
        (
            (
                DEAD,
                hold(
                    "own",
                    "release",
                    'gate_once_opened = "open-up"\nneeds_power = ["limited", "full"]',
                ),
                CHARGED,
            ),
            "Step own needs power limited or full, which its gate open-up forbids until it stands.",
        ),
        (
            (DEAD, hold("own", "open-up", 'needs_cover = "off"'), CHARGED),
            "Step own needs the cover off; at gate open-up it is on.",
        ),
        (
            (DEAD, hold("own", "hands-in", 'needs_cover = "on"'), CHARGED),
            "Step own needs the cover on; at gate hands-in it is off.",
        ),
        (
            (
                hold("dead", "hands-in", 'ended_by = ["power_applied"]'),
                OWN,
                hazard("charged", "dead", "hands", more='raised_by = ["power_applied"]'),
            ),
            "Step dead: ended_by power_applied follows from hazard charged; leave it out.",
        ),
        (
            (
                hold("dead", "hands-in", 'needs_steps = ["own"]'),
                hold("own", more='needs_steps = ["dead"]'),
                CHARGED,
            ),
            "Steps need each other in a circle: dead, own.",
        ),
        (
            (hold("dead", "limited-power", INSIDE), OWN, CHARGED),
            "Step dead is done by hand inside, where hazard charged hurts; clear it before.",
        ),
        (
            (DEAD, hold("own", more=f'clears = ["charged"]\n{INSIDE}'), CHARGED),
            "Step own is done by hand inside, where hazard charged hurts; clear it before.",
        ),
    ],
)
def test_what_leads_nowhere_or_cannot_be_done_is_told(tmp_path, parts, sentence):
    assert sentence in told(tmp_path, *parts)


@pytest.mark.parametrize(
    "own",
    [
        hold("own", "full-power", 'needs_power = ["limited"]'),
        hold("own", "release", 'needs_power = ["full"]'),
        hold("own", "soak", 'needs_power = ["full"]\nneeds_cover = "on"'),
        hold("own", "hands-in", 'needs_cover = "off"'),
        hold("own", "open-up", 'needs_cover = "on"'),
        hold("own", "limited-power", f'needs_steps = ["dead"]\n{INSIDE}'),
        # By probe, from outside, or where no hand is hurt: each may clear.
        hold("own", "hands-in", f'clears = ["charged"]\n{INSIDE}'),
        hold("own", "limited-power", 'clears = ["charged"]\nneeds_cover = "off"'),
        hold("own", "release", 'ended_by = ["cover_removed"]'),
        step("own", 'needs_power = ["full"]\ngate = "open-up"'),
    ],
)
def test_what_can_be_done_at_its_gate_is_taken(tmp_path, own):
    assert told(tmp_path, DEAD, own, CHARGED) == []


def test_a_hand_may_clear_what_does_not_hurt_hands(tmp_path):
    inside = hold("own", "limited-power", INSIDE)
    assert told(tmp_path, DEAD, inside, CHARGED, hazard("short", "own", "limited")) == []


def test_several_faults_are_told_at_once(tmp_path):
    problems = told(tmp_path, DEAD, OWN, hazard("one", "x", "hands"), hazard("two", "y", "full"))
    assert len(problems) == 2


def test_a_hold_that_clears_no_hazard_is_named(tmp_path):
    pack = load(tmp_path, rule("all", "true", "dead", "own"), DEAD, OWN, CHARGED)
    idle = {step_.key for step_ in checking_hazards.idle_holds(pack)}
    assert "own" in idle
    assert "dead" not in idle


def test_a_shop_s_own_step_that_clears_is_not_idle(tmp_path):
    own = hold("own", more='clears = ["charged"]')
    pack = load(tmp_path, rule("all", "true", "dead", "own"), DEAD, own, CHARGED)
    assert "own" not in {step_.key for step_ in checking_hazards.idle_holds(pack)}
