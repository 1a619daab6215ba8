from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from checklists import published
from checklists.engine import syntax
from checklists.engine.cel import Bound, condition
from tests.checklists.engine.strategies import fact_sets


@pytest.mark.parametrize(
    "source",
    [
        'unit.kind == "mixer" && (unit.rail_volts > 60.0 || "joint-cracked" in findings)',
        "!(unit.has_laser && unit.moving_parts)",
        'unit.kind in ["mixer", "tuner"]',
        "unit.year < 1990 ? true : unit.has_laser",
        "size(findings) > 2",
        "unit.rail_volts * (unit.rail_volts + 1.0) > -10.0",
        "(unit.has_laser || unit.moving_parts) && unit.year >= 1980",
    ],
)
def test_a_condition_is_written_back_as_it_was(source):
    assert syntax.text(condition(source).tree) == source


@given(fact_sets(), st.sampled_from(published.pack().rules))
def test_the_text_of_a_tree_means_what_the_condition_means(facts, rule):
    again = condition(syntax.text(rule.condition.tree))

    assert again.names == rule.condition.names
    assert again.outcome(Bound(facts)) is rule.condition.outcome(Bound(facts))


def test_quotes_and_backslashes_survive():
    node = syntax.Node("value", 'a "quoted" \\ word')
    assert syntax.text(node) == '"a \\"quoted\\" \\\\ word"'
