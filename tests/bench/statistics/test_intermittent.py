from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.statistics import intermittent
from shop.bench.statistics.intermittent import clean_trials, trials_needed


@given(st.integers(0, 40), st.integers(1, 40), st.integers(0, 40), st.integers(1, 40))
def test_before_and_after_read_backwards_have_the_same_chance(a, n, b, m):
    a, b = min(a, n), min(b, m)
    there, back = intermittent.before_after(a, n, b, m), intermittent.before_after(b, m, a, n)
    assert there.p_value == pytest.approx(back.p_value)
    assert not (there.verdict == "proved" and back.verdict == "proved")


def trial(fault, *conditions):
    return intermittent.Trial(frozenset(conditions), fault)


def test_the_condition_that_matters_comes_first_with_the_warning():
    trials = [trial(True, "warm", "loud")] * 4 + [trial(True, "warm")] * 4
    trials += [trial(False, "cold")] * 8 + [trial(False, "cold", "loud")] * 4
    found = intermittent.which_condition(trials)
    assert {one.condition for one in found.ranked[:2]} == {"cold", "warm"}
    assert {one.condition for one in found.ranked if one.matters} == {"cold", "warm"}
    assert found.warning.startswith("3 conditions were compared")


def test_a_condition_that_never_changed_is_not_compared():
    found = intermittent.which_condition([trial(True, "warm"), trial(False, "warm")])
    assert found.ranked == ()
    assert "some trials with it and some without" in found.says


def test_luck_is_called_luck():
    trials = [trial(True, "warm"), trial(False, "warm"), trial(False), trial(True)]
    assert "beyond luck" in intermittent.which_condition(trials).says


@given(st.floats(1e-6, 1), st.floats(1e-6, 1))
def test_a_rarer_fault_never_needs_fewer_trials(one, other):
    low, high = sorted((one, other))
    assert trials_needed(low) >= trials_needed(high)


@given(st.integers(0, 200), st.integers(0, 200))
def test_clean_trials_are_planned_from_a_bound_below_the_rate_seen(faults, clean):
    plan = clean_trials(faults, faults + clean)
    assert plan.needed >= 1
    assert plan.rate_low <= plan.rate
    if faults:
        assert (1 - plan.rate_low) ** plan.needed <= 0.05 + 1e-9 or plan.needed == 1


def test_a_fault_seen_once_in_a_hundred_thousand_gets_its_trials():
    """The lower bound for one in n is 1 - C^(1/n): the trials are ln(0.05) over ln(0.95) times n."""
    plan = clean_trials(1, 100_000)
    assert plan.needed == pytest.approx(math.log(0.05) / math.log(0.95) * 100_000, abs=1)


def test_a_run_without_any_trial_proves_nothing():
    with pytest.raises(ValueError, match="must each be at least 1"):
        intermittent.before_after(0, 0, 0, 10)
