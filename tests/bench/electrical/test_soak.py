from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.bench.electrical import soak


class TestSoak:
    limits = {soak.SINK: soak.Limit(high=70), soak.OFFSET: soak.Limit(-50, 50)}

    def readings(self, quantity, *values, step=30.0):
        return [soak.Reading(quantity, n * step, v) for n, v in enumerate(values)]

    def planned(self, quantity, *values, minutes=(0, 10, 30, 60, 120, 180, 240)):
        return [soak.Reading(quantity, m, v) for m, v in zip(minutes, values, strict=True)]

    def calm(self):
        return [
            *self.planned(soak.SINK, 22, 38, 53.5, 58.6, 59.4, 59.3, 59.3),
            *self.planned(soak.OFFSET, 12, 14, 13, 14, 13, 14, 13),
        ]

    def test_a_calm_soak_passes(self):
        found = soak.verdict(self.calm(), self.limits, 4)
        assert (found.verdict, found.reasons, found.doubts) == ("passed", (), ())
        assert found.curve.verdict in ("will-settle", "has-settled")

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

    @pytest.mark.parametrize(
        ("left_out", "says"),
        [
            ((soak.SINK, None), "No sink temperature was read; 7 readings are planned."),
            ((soak.OFFSET, None), "No offset was read; 7 readings are planned."),
            ((soak.SINK, 10), "Sink temperature was not read at 10 min, as planned."),
            ((soak.OFFSET, 240), "Offset was not read at 240 min, as planned."),
        ],
    )
    def test_without_the_readings_of_its_plan_it_does_not_pass(self, left_out, says):
        quantity, minute = left_out
        gone = [r for r in self.calm() if r.quantity != quantity or minute not in (None, r.minutes)]
        found = soak.verdict(gone, self.limits, 4)
        assert (found.verdict, found.doubts) == ("doubtful", (says,))

    @pytest.mark.parametrize("late", [-4, 5, 19])
    def test_a_reading_near_its_time_is_in_time(self, late):
        read = [
            soak.Reading(r.quantity, r.minutes + late * (r.minutes == 120), r.value)
            for r in self.calm()
        ]
        assert soak.verdict(read, self.limits, 4).verdict == "passed"

    @pytest.mark.parametrize(
        "read",
        [
            [(soak.OFFSET, 240, 10)],
            [(soak.SINK, 240, 60)],
            [(soak.SINK, 0, 25), (soak.SINK, 240, 69.9)],
            [(soak.SINK, m, 25 + m * 0.187) for m in (0, 10, 30, 60, 120, 180, 240)],
        ],
    )
    def test_almost_nothing_read_does_not_pass(self, read):
        found = soak.verdict([soak.Reading(*one) for one in read], self.limits, 4)
        assert found.verdict == "doubtful"

    @pytest.mark.parametrize("value", [float("nan"), float("inf")])
    def test_a_value_that_is_no_number_fails(self, value):
        read = [*self.calm()[1:], soak.Reading(soak.SINK, 60, value)]
        found = soak.verdict(read, self.limits, 4)
        assert found.failed
        assert "sink temperature after 60 min is no number" in found.reasons[0]

    def test_a_time_that_is_none_is_a_sentence(self):
        with pytest.raises(ValueError, match="minutes of sink"):
            soak.verdict([soak.Reading(soak.SINK, float("nan"), 40)], self.limits, 4)

    def test_while_it_runs_only_what_was_due_is_missed(self):
        read = [r for r in self.calm() if r.minutes <= 60]
        found = soak.verdict(read, self.limits, 4)
        assert found.doubts[-1] == "The last reading is from 1.0 h; 4 h are planned."

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


def test_readings_that_no_curve_fits_are_a_doubt():
    read = [soak.Reading(soak.SINK, n * 30.0, value) for n, value in enumerate([20, 40, 20, 40])]
    verdict = soak.verdict(read, {soak.SINK: soak.Limit(high=70)}, 1.5)
    assert verdict.verdict == "doubtful"
    assert "scatter by" in verdict.doubts[0]


def test_readings_that_do_not_bend_yet_are_a_doubt():
    read = [soak.Reading(soak.SINK, n * 30.0, 22 + 4.0 * n) for n in range(6)]
    verdict = soak.verdict(read, {soak.SINK: soak.Limit(high=70)}, 2.5)
    assert verdict.verdict == "doubtful"
    assert "do not bend enough yet" in verdict.doubts[0]
