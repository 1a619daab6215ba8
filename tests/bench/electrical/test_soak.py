from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.electrical import soak


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


@pytest.mark.parametrize(
    ("limit", "words"),
    [
        (soak.Limit(-50, 50), "-50 to 50"),
        (soak.Limit(high=70), "at most 70"),
        (soak.Limit(low=3), "at least 3"),
        (soak.Limit(), "no limit"),
    ],
)
def test_a_limit_in_words(limit, words):
    assert limit.text == words


def test_readings_that_no_curve_fits_leave_the_sink_to_its_limit():
    read = [soak.Reading(soak.SINK, n * 30.0, value) for n, value in enumerate([20, 40, 20, 40])]
    verdict = soak.verdict(read, {soak.SINK: soak.Limit(high=70)}, 1.5)
    assert (verdict.verdict, verdict.curve) == ("passed", None)


def test_readings_that_do_not_bend_yet_are_a_doubt():
    read = [soak.Reading(soak.SINK, n * 30.0, 22 + 4.0 * n) for n in range(6)]
    verdict = soak.verdict(read, {soak.SINK: soak.Limit(high=70)}, 2.5)
    assert verdict.verdict == "doubtful"
    assert "do not bend enough yet" in verdict.doubts[0]
