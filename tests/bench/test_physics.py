"""Invariants: monotone where physics is, scale laws, round trips."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from shop.bench.audio import distortion, levels
from shop.bench.electrical import (
    bias,
    capacitors,
    contacts,
    discharge,
    energy,
    fuses,
    heating,
    preferred_values,
    safety_tests,
    soak,
    thermal,
)
from shop.bench.electrical.part_specs import PART_CLASSES
from shop.bench.electrical.substitution import Candidate, ranked, substitute
from shop.bench.statistics import intermittent, suspects

positive = st.floats(0.1, 1000)


@given(positive, positive, st.floats(1, 1000))
def test_more_current_never_opens_a_fuse_later(one, other, rated):
    low, high = sorted((one, other))
    rated = 0.03 + rated % 19
    slow, quick = fuses.fuse_times(rated, low), fuses.fuse_times(rated, high)
    assert (quick.latest_seconds or math.inf) <= (slow.latest_seconds or math.inf)
    assert (quick.earliest_seconds or 0) <= (slow.earliest_seconds or math.inf)


@given(st.floats(2, 500), st.floats(1, 100), st.floats(0.01, 0.9), st.floats(0.1, 1000))
def test_a_bleeder_does_in_time_what_the_discharge_says(volts, target, share, seconds):
    target = volts * share
    assume(target > 0.01)
    resistor = discharge.bleeder(volts, 10, target, seconds)
    assume(0.1 <= resistor.largest_ohms <= 1e8)
    plan = discharge.discharge(volts, 10, resistor.largest_ohms, target)
    assert plan.seconds == pytest.approx(seconds)
    assert resistor.preferred_ohms <= resistor.largest_ohms * (1 + 1e-6)


@given(st.floats(5, 100), st.floats(1, 50), st.floats(0, 1))
def test_no_level_burns_more_than_the_worst(rail, ohms, share):
    at = thermal.class_b_dissipation(rail, ohms, rail**2 / (2 * ohms) * share)
    assert at.pair_watts <= at.worst_pair_watts * (1 + 1e-9)
    assert at.supply_watts == pytest.approx(at.pair_watts + at.largest_output_watts * share)


@given(st.floats(1, 100), st.floats(0.1, 5), st.floats(0.1, 5), st.floats(0.1, 5))
def test_a_sink_that_is_just_enough_brings_the_junction_to_its_limit(watts, inner, joint, ambient):
    assume((150 - 25) / watts - inner - joint > 0.01)
    sink = thermal.required_sink(watts, inner, joint).sink_kelvin_per_watt
    assume(sink <= 100)
    found = thermal.junction_temperature(25, watts, inner, joint, sink)
    assert found.junction_celsius == pytest.approx(150)


@given(st.sampled_from(["TO-3", "TO-220", "TO-247", "power-IC"]), st.floats(1, 100))
def test_an_exchange_there_and_back_costs_nothing(package, watts):
    there = thermal.interface_swap(watts, package, "mica-compound", "pad-dry")
    back = thermal.interface_swap(watts, package, "pad-dry", "mica-compound")
    assert there.likely_kelvin == pytest.approx(-back.likely_kelvin)
    assert there.lowest_kelvin <= there.likely_kelvin <= there.highest_kelvin


@given(st.floats(20, 100), st.floats(20, 100))
def test_a_cooler_capacitor_never_lives_shorter(one, other):
    low, high = sorted((one, other))
    cool = capacitors.electrolytic_life(2000, 105, low).hours
    assert cool >= capacitors.electrolytic_life(2000, 105, high).hours


@given(st.floats(20, 100), st.floats(1, 24))
def test_one_temperature_all_day_is_its_own_equivalent(celsius, hours):
    mixed = capacitors.mixed_duty(2000, 105, [celsius], [hours])
    assert mixed.equivalent_celsius == pytest.approx(celsius)
    assert mixed.hours == pytest.approx(capacitors.electrolytic_life(2000, 105, celsius).hours)


@given(st.lists(st.tuples(st.floats(20, 100), st.floats(0.5, 4)), min_size=2, max_size=6))
def test_the_mean_temperature_always_flatters(parts):
    mixed = capacitors.mixed_duty(2000, 105, [t for t, _ in parts], [h for _, h in parts])
    assert mixed.equivalent_celsius >= mixed.mean_celsius - 1e-9


@given(st.sampled_from(list(preferred_values.SERIES)), st.floats(1e-9, 1e9))
def test_preferred_neighbours_enclose_the_value(series, value):
    found = preferred_values.preferred_value(value, series)
    assert found.below <= value * (1 + 1e-8)
    assert found.above >= value * (1 - 1e-8)
    assert found.nearest in (found.below, found.above)


@given(st.floats(1, 99.9))
def test_clipping_there_and_back(percent):
    measured = distortion.clipped_sine(percent).thd_f_percent
    assume(1e-4 <= measured <= 40)
    assert distortion.clip_level(measured).clip_percent == pytest.approx(percent, rel=1e-5)


@given(st.floats(1, 100), st.floats(0.5, 0.999))
def test_damping_and_power_agree_with_ohm(volts, share):
    found = levels.damping(volts, volts * share, 8)
    assert found.source_ohms * found.damping_factor == pytest.approx(8)
    assert levels.output_power(volts, 8).watts == pytest.approx(volts**2 / 8)
    assert levels.volts_for(volts**2 / 8, 8).rms_volts == pytest.approx(volts)


@given(st.floats(0.01, 5), st.floats(10, 200))
def test_a_target_set_is_the_current_that_the_meter_gives_back(ohms, millivolts):
    target = bias.bias_target(ohms, target_millivolts=millivolts)
    assert bias.emitter_bias(target.reading_millivolts, ohms).milliamps == pytest.approx(
        target.milliamps
    )


@given(st.floats(1, 1e5), st.floats(1, 1e5))
def test_the_weighting_never_rises_with_frequency(one, other):
    low, high = sorted((one, other))
    assert (
        safety_tests.weighted_touch_current(0.1, high).weighting
        <= safety_tests.weighted_touch_current(0.1, low).weighting + 1e-12
    )


@given(st.floats(0, 1000), st.floats(0, 1000))
def test_a_worse_contact_never_helps_the_damping(one, other):
    low, high = sorted((one, other))
    good, bad = (contacts.contact_resistance(mv, source_ohms=0.04) for mv in (low, high))
    assert bad.damping_factor <= good.damping_factor


@given(st.floats(0, 500), st.floats(0, 500))
def test_a_higher_voltage_is_never_in_a_lower_class(one, other):
    low, high = sorted((one, other))
    assert energy.dc_class(low) <= energy.dc_class(high)


@given(st.floats(20, 40), st.floats(10, 60), st.floats(5, 60), st.integers(5, 12))
def test_a_true_heating_curve_is_found_again(start, rise, tau, count):
    minutes = [tau * 3 * n / (count - 1) for n in range(count)]
    celsius = [start + rise * -math.expm1(-m / tau) for m in minutes]
    found = heating.heating_curve(minutes, celsius, 200)
    assert found.final_celsius == pytest.approx(start + rise, abs=1e-3)
    assert found.time_constant_minutes == pytest.approx(tau, rel=1e-3)
    assert found.verdict == "will-settle"


@settings(max_examples=20, deadline=None)
@given(st.integers(0, 10_000))
def test_the_interval_of_noisy_readings_mostly_holds_the_truth(seed):
    draw = np.random.default_rng(seed)
    minutes = np.linspace(0, 90, 10)
    inside = 0
    for _ in range(20):
        celsius = 22 + 40 * -np.expm1(-minutes / 25) + draw.normal(0, 0.4, 10)
        found = heating.heating_curve(list(minutes), list(celsius), 200)
        inside += abs(found.final_celsius - 62) <= found.half_width_kelvin
    # 95 % of them should; twelve of twenty or fewer has a chance below one in a million.
    assert inside > 12


@pytest.mark.parametrize(
    ("celsius", "limit", "verdict", "words"),
    [
        ([22, 35, 44, 50, 58, 60], 70, "will-settle", "It will settle at 61 +- 0.72 C, below the 70 C"),
        ([22, 35, 44, 50, 58, 60], 58, "will-not-settle", "It will not settle below the 58 C limit"),
        ([22, 26, 30, 34, 46, 58], 70, "cannot-tell", "do not bend enough yet"),
        ([40, 40.5, 40, 40.2, 40, 40], 70, "will-settle", "It has settled at 40"),
    ],
)  # fmt: skip
def test_what_a_heating_curve_says(celsius, limit, verdict, words):
    found = heating.heating_curve([0, 10, 20, 30, 60, 90], celsius, limit)
    assert found.verdict == verdict
    assert words in found.says


@given(
    st.lists(st.tuples(st.floats(0.01, 1), st.floats(0.5, 60)), min_size=1, max_size=6),
    st.floats(0, 0.5),
)
def test_no_order_of_tests_beats_the_ratio_rule(parts, outside):
    whole = sum(weight for weight, _ in parts) / (1 - outside)
    known = [suspects.Suspect(str(n), p / whole, c) for n, (p, c) in enumerate(parts)]
    best = suspects.expected_minutes(suspects.in_order(known))
    brute = min(suspects.expected_minutes(order) for order in itertools.permutations(known))
    assert best == pytest.approx(brute)


@given(
    st.dictionaries(st.sampled_from("abcdef"), st.floats(0.01, 5), min_size=2),
    st.dictionaries(st.sampled_from("abcdef"), st.integers(0, 50)),
)
def test_learnt_priors_are_probabilities_that_lean_to_what_was_seen(priors, times):
    found = suspects.learnt(priors, times)
    assert sum(one.shop for one in found.values()) == pytest.approx(1)
    seen = sum(times.get(key, 0) for key in priors)
    for key, one in found.items():
        share = times.get(key, 0) / seen if seen else one.pack
        low, high = sorted((one.pack, share))
        assert low - 1e-9 <= one.shop <= high + 1e-9


@given(st.dictionaries(st.sampled_from("abcdef"), st.floats(0.01, 5), min_size=2))
def test_what_is_ruled_out_leaves_its_share_to_the_others(priors):
    gone = sorted(priors)[0]
    left = suspects.posterior(priors, [gone])
    assert gone not in left
    assert sum(left.values()) == pytest.approx(1)
    first, *_ = left
    for key in left:
        assert left[key] / left[first] == pytest.approx(priors[key] / priors[first])


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
    assert {one.condition for one in found.found[:2]} == {"cold", "warm"}
    assert {one.condition for one in found.found if one.matters} == {"cold", "warm"}
    assert found.warning.startswith("3 conditions were compared")


def test_a_condition_that_never_changed_is_not_compared():
    found = intermittent.which_condition([trial(True, "warm"), trial(False, "warm")])
    assert found.found == ()
    assert "some trials with it and some without" in found.says


def test_luck_is_called_luck():
    trials = [trial(True, "warm"), trial(False, "warm"), trial(False), trial(True)]
    assert "beyond luck" in intermittent.which_condition(trials).says


class TestSoak:
    limits = {soak.SINK: soak.Limit(high=70), soak.OFFSET: soak.Limit(-50, 50)}

    def readings(self, quantity, *values, step=30.0):
        return [soak.Reading(quantity, n * step, v) for n, v in enumerate(values)]

    def test_a_calm_soak_passes(self):
        read = self.readings(soak.SINK, 22, 44, 53, 57, 58.5, 59, 59.2, 59.3, 59.3)
        read += self.readings(soak.OFFSET, 12, 14, 13, 14, 13, 14, 13, 14, 13)
        found = soak.verdict(read, self.limits, 4)
        assert (found.verdict, found.reasons, found.doubts) == ("passed", (), ())
        assert found.curve.verdict == "will-settle"

    @pytest.mark.parametrize(
        ("quantity", "values", "says"),
        [
            (soak.SINK, (22, 50, 71), "sink celsius was 71 after 60 min; at most 70 holds."),
            (soak.OFFSET, (12, -80), "offset millivolts was -80 after 30 min; -50 to 50 holds."),
            (soak.TRIPS, (0, 1, 1), "It tripped 2 times."),
            (soak.TRIPS, (1, -1), "It tripped 1 time."),
            (soak.SINK, (22, 40, 52, 60, 65), "It will not settle below the 70 C limit"),
        ],
    )
    def test_what_fails_says_why(self, quantity, values, says):
        found = soak.verdict(self.readings(quantity, *values), self.limits, 4)
        assert found.failed
        assert says in found.reasons[0]

    def test_a_drift_that_would_leave_its_limit_is_a_doubt(self):
        read = self.readings(soak.OFFSET, *(10 + 3 * n for n in range(9)))
        found = soak.verdict(read, self.limits, 4)
        assert found.verdict == "doubtful"
        assert "drifts by +6 an hour" in found.doubts[0]

    def test_readings_that_stop_early_are_a_doubt(self):
        found = soak.verdict(self.readings(soak.OFFSET, 10, 11), self.limits, 8)
        assert "8 h are planned" in found.doubts[0]

    @given(st.permutations(range(6)))
    def test_the_order_of_entry_does_not_matter(self, order):
        read = self.readings(soak.SINK, 22, 44, 53, 57, 58.5, 59)
        shuffled = [read[place] for place in order]
        assert soak.verdict(shuffled, self.limits, 4) == soak.verdict(read, self.limits, 4)

    @given(st.floats(0.25, 100))
    def test_a_plan_begins_at_the_start_and_ends_at_the_end(self, hours):
        plan = soak.soak_plan(hours)
        assert plan.reading_minutes[0] == 0
        assert plan.reading_minutes[-1] == pytest.approx(hours * 60)
        assert list(plan.reading_minutes) == sorted(set(plan.reading_minutes))


CAPACITOR = {"microfarads": 4700, "volts": 63, "rated_celsius": 85, "dielectric": "electrolytic"}


@pytest.mark.parametrize(
    ("part_class", "needed", "offered", "verdict", "says"),
    [
        ("capacitor", CAPACITOR, CAPACITOR | {"rated_celsius": 105}, "fits", "every value"),
        ("capacitor", CAPACITOR, CAPACITOR | {"volts": 50}, "no", "Voltage 50 V for 63 V: it must reach"),
        ("capacitor", CAPACITOR, CAPACITOR | {"microfarads": 6800}, "with-care", "inrush"),
        ("capacitor", CAPACITOR, CAPACITOR | {"microfarads": 3300}, "no", "it must be 0.95 to 2 times"),
        ("capacitor", {"dielectric": "film"}, {"dielectric": "electrolytic"}, "no", "cannot stand in"),
        ("capacitor", CAPACITOR, {"microfarads": 4700, "volts": 63, "dielectric": "electrolytic"}, "with-care", "not known; look it up"),
        ("capacitor", CAPACITOR, {"microfarads": 4700, "dielectric": "electrolytic"}, "no", "not known, and it must be"),
        ("resistor", {"ohms": 0.22, "fusible": "yes"}, {"ohms": 0.22, "fusible": "no"}, "no", "Fusible no for yes"),
        ("resistor", {"ohms": 100, "watts": 0.5}, {"ohms": 103, "watts": 0.5}, "with-care", "3 % off"),
        ("fuse", {"amps": 2, "speed": "T"}, {"amps": 2.5, "speed": "T"}, "no", "it must be the same"),
        ("fuse", {"amps": 2, "breaking": "H"}, {"amps": 2, "breaking": "L"}, "no", "cannot stand in"),
        ("fuse", {"amps": 2, "standard": "IEC 60127"}, {"amps": 2, "standard": "UL 248"}, "no", "cannot stand in"),
        ("relay", {"coil_volts": 24, "contacts": "2C"}, {"coil_volts": 12, "contacts": "2C"}, "no", "must be the same"),
        ("relay", {"coil_volts": 24, "coil_ohms": 660}, {"coil_volts": 24, "coil_ohms": 1440}, "with-care", "measure pull-in"),
        ("power-transistor", {"polarity": "NPN", "limit_volts": 140}, {"polarity": "NPN", "limit_volts": 230}, "fits", "every value"),
        ("power-transistor", {"polarity": "NPN"}, {"polarity": "PNP"}, "no", "cannot stand in"),
        ("power-transistor", {"limit_watts": 100, "safe_area_amps": 1}, {"limit_watts": 150}, "no", "Safe area"),
        ("suppression-capacitor", {"safety_class": "Y2", "microfarads": 0.0047}, {"safety_class": "Y1", "microfarads": 0.0068}, "no", "must be 0.8"),
        ("suppression-capacitor", {"safety_class": "X2", "microfarads": 0.1}, {"safety_class": "X1", "microfarads": 0.1}, "fits", "every value"),
    ],
)  # fmt: skip
def test_substitutions(part_class, needed, offered, verdict, says):
    found = substitute(part_class, needed, offered)
    assert found.verdict == verdict, found
    assert says in found.says


@pytest.mark.parametrize("part_class", PART_CLASSES)
@given(data=st.data())
def test_a_part_may_always_stand_in_for_itself(part_class, data):
    spec = {}
    for parameter in PART_CLASSES[part_class].parameters:
        drawn = (
            st.sampled_from(parameter.words)
            if parameter.words
            else st.floats(max(parameter.low, 1e-6), parameter.high)
        )
        spec[parameter.name] = data.draw(drawn, label=parameter.name)
    assert substitute(part_class, spec, spec).verdict == "fits"


def test_candidates_come_by_verdict_then_stock_then_price():
    offered = [
        Candidate("too small", CAPACITOR | {"volts": 50}, 9, 0.1),
        Candidate("dear, here", CAPACITOR, 3, 4.0),
        Candidate("cheap, to order", CAPACITOR, 0, 2.0),
        Candidate("cheap, here", CAPACITOR, 1, 3.0),
        Candidate("with care", CAPACITOR | {"microfarads": 6800}, 9, 0.2),
    ]
    names = [one.candidate.name for one in ranked("capacitor", CAPACITOR, offered)]
    assert names == ["cheap, here", "dear, here", "cheap, to order", "with care", "too small"]


@pytest.mark.parametrize(
    ("spec", "sentence"),
    [
        ({"farads": 1}, "needed farads is not known of a capacitor"),
        ({"volts": "many"}, "needed volts is 'many'; it must be a number of V"),
        ({"volts": -1}, "needed volts is -1 V"),
        ({"dielectric": "paper"}, "needed dielectric is 'paper'; it must be one of"),
        ({}, "Nothing of the needed part is known"),
    ],
)
def test_a_spec_that_cannot_be_gets_a_sentence(spec, sentence):
    with pytest.raises(ValueError, match=sentence):
        substitute("capacitor", spec, {})
