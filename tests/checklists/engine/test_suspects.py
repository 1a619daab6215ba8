from __future__ import annotations

import pytest

from checklists.engine import suspects
from tests.checklists.engine.packs import load

SUSPECT = """
    [[suspect]]
    key = "{key}"
    title = "{key}"
    when = '{when}'
    weight = 3
    minutes = 10
    test = "Measure it."
    source = "common practice"
    {more}
"""
STRONGER = "more_when = '\"joint-cracked\" in findings'\ntimes = 4"


def raised(tmp_path, facts, *causes):
    parts = [SUSPECT.format(key=key, when=when, more=more) for key, when, more in causes]
    found = suspects.raised(load(tmp_path, *parts), facts)
    return [(one.suspect.key, one.weight, one.stronger) for one in found]


def test_a_cause_is_raised_where_its_condition_is_plainly_true(tmp_path):
    causes = (("laser", "unit.has_laser", ""), ("belt", "unit.moving_parts", ""))
    facts = {"unit.has_laser": True, "unit.moving_parts": False}
    assert raised(tmp_path, facts, *causes) == [("laser", 3.0, False)]


def test_a_condition_that_cannot_be_decided_raises_nothing(tmp_path):
    assert raised(tmp_path, {}, ("laser", "unit.has_laser", "")) == []


@pytest.mark.parametrize(
    ("findings", "weight", "stronger"),
    [(["joint-cracked"], 12.0, True), (["dust-heavy"], 3.0, False), (None, 3.0, False)],
)
def test_a_finding_that_speaks_for_it_weighs_more(tmp_path, findings, weight, stronger):
    facts = {} if findings is None else {"findings": findings}
    assert raised(tmp_path, facts, ("joint", "true", STRONGER)) == [("joint", weight, stronger)]


def test_causes_come_in_the_order_of_the_pack(tmp_path):
    causes = [(key, "true", "") for key in ("b", "a", "c")]
    assert [key for key, _, _ in raised(tmp_path, {}, *causes)] == ["b", "a", "c"]
