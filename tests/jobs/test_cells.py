from __future__ import annotations

from checklists.engine.words import HANDS
from tests.helpers import amplifier


def asked(bench, **facts):
    number = bench.receive(facts=amplifier(**facts))
    return [step.key for step in bench.asked(number, HANDS)]


def test_a_unit_on_batteries_is_opened_without_its_cells(bench):
    assert "battery-out" in asked(bench, unit__supply="battery")
    assert "battery-out" in asked(bench, unit__supply=None)


def test_a_unit_known_to_run_on_mains_has_none(bench):
    assert "battery-out" not in asked(bench, unit__supply="linear")
