from __future__ import annotations

from checklists.engine.markdown import steps_by_event
from tests.checklists.engine.packs import load, rule, step

HELD = """gate = "first-power"
gate_once_opened = "limited-power"
hold = true
ended_by = ["cover_removed", { event = "work_done", work = ["relay-replaced"], section = ["supply"] }]
"""


def rows(pack):
    return [line for line in steps_by_event(pack).splitlines() if line.startswith("| `")]


def test_a_step_stands_with_its_gates_and_what_ends_it(tmp_path):
    pack = load(tmp_path, rule("r", "true", "held"), step("held", HELD))
    assert rows(pack) == [
        "| `held` | first-power / limited-power |"
        " cover_removed; work_done (relay-replaced, section supply) |"
    ]


def test_a_service_step_has_no_gate_and_one_that_nothing_ends_is_left_out(tmp_path):
    pack = load(
        tmp_path,
        rule("r", "true", "service", "lasting"),
        step("service", 'ended_by = ["received"]'),
        step("lasting"),
    )
    assert rows(pack) == ["| `service` |  | received |"]


def test_steps_stand_in_the_order_of_a_checklist(tmp_path):
    ended = 'ended_by = ["received"]'
    late = step("late", f'{ended}\nafter = ["early"]')
    pack = load(tmp_path, rule("r", "true", "late", "early"), late, step("early", ended))
    assert [row.split("`")[1] for row in rows(pack)] == ["early", "late"]
