"""What an instrument may be off by counts against the reading."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from django.utils import timezone

from shop.instruments import services
from shop.instruments.models import LastUsed
from shop.lib.refusals import BadInput, Refused
from tests.helpers import amplifier
from tests.helpers_instruments import CLAMP

EARTH = "earth-continuity"


def sign(
    bench, job, value, instrument, key=EARTH, quantity="earth_ohms", kind="earth-resistance", **more
):
    return bench.sign(
        job,
        key,
        readings=[(quantity, value)],
        instruments={kind: instrument and instrument.pk},
        **more,
    )


def reading_of(bench, job):
    return bench.job(job).ledger.last().data["readings"][0]


class TestAHoldStep:
    def test_a_reading_far_enough_below_its_limit_passes(self, bench, job, clamp):
        assert sign(bench, job, 0.06, clamp).state == "signed"
        kept = reading_of(bench, job)
        assert kept["verdict"] == "pass"
        assert kept["uncertainty"] == pytest.approx(0.0212)
        assert (kept["instrument"]["name"], kept["instrument"]["serial"]) == ("Earth clamp", "0042")

    def test_a_healthy_thick_lead_passes_with_an_ordinary_clamp(self, bench, clamp):
        # 0.06 ohm against 0.1 and a little: 4 mm2, 0.5 m.
        number = bench.receive(facts=amplifier(unit__lead_mm2=4.0, unit__lead_metres=0.5))
        assert bench.step(number, EARTH).readings[0].high == pytest.approx(0.1, abs=0.01)
        assert sign(bench, number, 0.06, clamp).state == "signed"

    @pytest.mark.parametrize("value", [0.28, 0.3])
    def test_one_that_the_meter_cannot_tell_from_a_fail_does_not(self, bench, job, clamp, value):
        before = bench.job(job).head
        with pytest.raises(Refused) as caught:
            sign(bench, job, value, clamp)
        assert caught.value.refusals[0].code == "too-close"
        assert bench.state(job, EARTH) == "due"
        assert bench.job(job).head == before

    def test_the_sentence_says_what_would_tell(self, bench, job, clamp):
        with pytest.raises(Refused) as caught:
            sign(bench, job, 0.28, clamp)
        said = str(caught.value)
        assert (
            "0.28 ohm is too close to tell with Earth clamp, which may be off by 0.026 ohm" in said
        )
        assert "good to 0.02 ohm" in said
        assert "passes at 0.274 ohm or less" in said

    def test_what_the_sentence_says_is_true(self, bench, job, clamp, add_instrument):
        assert sign(bench, job, 0.274, clamp).state == "signed"
        finer = add_instrument(
            "Bridge", ("earth-resistance", 2.0, {"counts": 2.0, "resolution": 0.01})
        )
        assert sign(bench, job, 0.28, finer).state == "signed"

    def test_on_the_limit_no_meter_tells(self, bench, job, clamp):
        with pytest.raises(Refused) as caught:
            sign(bench, job, 0.3, clamp)
        assert "Read it with a meter" not in str(caught.value)
        assert "passes at 0.274 ohm or less" in str(caught.value)

    def test_what_was_signed_before_stands_and_the_sentence_says_so(self, bench, job, clamp):
        sign(bench, job, 0.05, clamp)
        with pytest.raises(Refused, match="What was signed before stands; withdraw it"):
            sign(bench, job, 0.29, clamp)
        assert bench.state(job, EARTH) == "signed"

    def test_a_fail_of_before_stands(self, bench, job, clamp):
        sign(bench, job, 0.5, clamp)
        with pytest.raises(Refused):
            sign(bench, job, 0.29, clamp)
        assert bench.state(job, EARTH) == "failed"

    def test_a_reading_outside_its_limit_fails_as_without_an_instrument(self, bench, job, clamp):
        assert sign(bench, job, 0.31, clamp).state == "failed"
        assert reading_of(bench, job)["verdict"] == "fail"

    def test_a_fail_is_never_in_doubt(self, bench, job, clamp):
        assert sign(bench, job, 0.29, clamp, result="fail").state == "failed"

    def test_a_meter_too_coarse_for_the_limit_says_so(self, bench, job, add_instrument):
        coarse = add_instrument(
            "Pocket meter", ("earth-resistance", 200.0, {"counts": 5.0, "resolution": 0.1})
        )
        with pytest.raises(Refused, match="Pocket meter cannot tell at this limit"):
            sign(bench, job, 0.1, coarse)

    def test_one_reading_in_doubt_among_several_is_enough(self, bench, job, clamp):
        with pytest.raises(Refused, match=r"0\.29 ohm is too close"):
            bench.sign(
                job,
                EARTH,
                readings=[("earth_ohms", 0.05), ("earth_ohms", 0.29)],
                instruments={"earth-resistance": clamp.pk},
            )


class TestAtLeast:
    @pytest.fixture
    def tester(self, add_instrument):
        off = {"reading_percent": 3.0, "counts": 5.0, "resolution": 0.01}
        return add_instrument(
            "Insulation tester", ("insulation-resistance", 20e6, off | {"resolution": 0.01e6})
        )

    @pytest.fixture
    def ready(self, bench, job):
        bench.pass_steps(job, EARTH)
        return job

    def insulation(self, bench, job, value, tester):
        return sign(
            bench,
            job,
            value,
            tester,
            "insulation-resistance",
            "insulation_megohms",
            "insulation-resistance",
        )

    def test_well_above_passes_and_on_the_limit_does_not(self, bench, ready, tester):
        with pytest.raises(Refused, match=r"passes at 1\.09 Mohm or more"):
            self.insulation(bench, ready, 1.0, tester)
        assert self.insulation(bench, ready, 1.09, tester).state == "signed"

    def test_the_top_of_the_range_passes_and_so_does_beyond_it(self, bench, ready, tester):
        assert self.insulation(bench, ready, 20, tester).state == "signed"
        assert self.insulation(bench, ready, 500, tester).state == "signed"
        assert reading_of(bench, ready)["uncertainty"] is None


def test_beyond_the_ranges_of_the_meter_a_highest_limit_is_not_told(bench, job, add_instrument):
    low = add_instrument("Milliohm meter", ("earth-resistance", 0.02, {"reading_percent": 1.0}))
    with pytest.raises(Refused, match="beyond the ranges of Milliohm meter"):
        sign(bench, job, 0.1, low)


def test_without_an_instrument_a_reading_is_judged_as_it_stands(bench, job):
    assert sign(bench, job, 0.3, None).state == "signed"
    assert "instrument" not in reading_of(bench, job)


def test_a_limit_of_nothing_leaves_no_doubt(bench, add_instrument):
    """At least 0 ohm, as of an output with a transformer: 0.2 ohm is no matter of the meter."""
    number = bench.receive(facts=amplifier(unit__output_stage="valve-push-pull"))
    step = bench.step(number, "shorts-before-power")
    low = {reading.quantity: reading.low for reading in step.readings}
    assert low["output_ohms"] == 0
    off = {"reading_percent": 1.0, "counts": 5.0, "resolution": 0.1}
    meter = add_instrument("Bench meter", ("resistance", 2e6, off))
    bench.ready_for(number, step.step)
    readings = [("lowest_ohms", 5000), ("output_ohms", 0.2), ("logic_ohms", 50)]
    named = {"resistance": meter.pk}
    assert bench.sign(number, step.key, readings=readings, instruments=named).state == "signed"


class TestTheSign:
    @pytest.fixture
    def meter(self, add_instrument):
        off = {"reading_percent": 0.5, "counts": 2.0, "resolution": 0.0001}
        return add_instrument(
            "Bench meter",
            ("dc-voltage", 0.6, off),
            ("dc-voltage", 60.0, off | {"resolution": 0.01}),
        )

    @pytest.mark.parametrize("value", [-49.9, 49.9])
    def test_both_ends_of_a_signed_reading_count(self, bench, meter, value, ready_for_offset):
        number = ready_for_offset
        readings = [("offset_millivolts", value), ("before_relay_millivolts", 3)]
        with pytest.raises(Refused, match=r"passes at 49\.5 mV or less"):
            bench.sign(number, "dc-offset", readings=readings, instruments={"dc-voltage": meter.pk})

    @pytest.mark.parametrize("value", [-49.5, 0, 49.5])
    def test_within_them_it_passes(self, bench, meter, value, ready_for_offset):
        number = ready_for_offset
        readings = [("offset_millivolts", value), ("before_relay_millivolts", 3)]
        done = bench.sign(
            number, "dc-offset", readings=readings, instruments={"dc-voltage": meter.pk}
        )
        assert done.state == "signed"

    @pytest.fixture
    def ready_for_offset(self, bench):
        number = bench.receive(facts=amplifier(unit__offset_adjustable=False))
        step = bench.step(number, "dc-offset").step
        bench.ready_for(number, step)
        return number


class TestCalibration:
    def test_past_its_day_it_is_said_and_blocks_nothing(self, bench, job, add_instrument):
        yesterday = timezone.localdate() - timedelta(days=1)
        old = add_instrument("Old clamp", CLAMP, calibrated_on=date(2020, 1, 1), due_on=yesterday)
        assert sign(bench, job, 0.05, old).state == "signed"
        assert reading_of(bench, job)["instrument"]["overdue"] is True
        said = bench.traveller(job).record.rows[-1]
        assert "calibration past due" in str(_words(said))

    def test_on_its_day_it_is_not_past(self, bench, job, add_instrument):
        due = add_instrument("Clamp", CLAMP, due_on=timezone.localdate())
        sign(bench, job, 0.05, due)
        assert reading_of(bench, job)["instrument"]["overdue"] is False


def _words(row):
    from shop.jobs import events  # noqa: PLC0415

    return events.words(row)


class TestNaming:
    def test_the_one_used_last_is_remembered_for_each_person_and_may_be_forgotten(
        self, bench, job, clamp, people
    ):
        sign(bench, job, 0.05, clamp)
        assert list(LastUsed.objects.values_list("by", "instrument")) == [(bench.by.pk, clamp.pk)]
        sign(bench, job, 0.05, None)
        assert not LastUsed.objects.exists()

    def test_a_refused_sign_off_remembers_nothing(self, bench, job, clamp):
        with pytest.raises(Refused):
            sign(bench, job, 0.29, clamp)
        assert not LastUsed.objects.exists()

    def test_a_retired_one_cannot_be_named(self, bench, job, clamp, people):
        services.set_retired(clamp, timezone.now(), by=people.owner)
        with pytest.raises(BadInput, match="no instrument in use"):
            sign(bench, job, 0.05, clamp)

    def test_nor_one_that_does_not_measure_it(self, bench, job, add_instrument):
        thermometer = add_instrument(
            "Thermometer", ("temperature", 200.0, {"counts": 1.0, "resolution": 1.0})
        )
        with pytest.raises(BadInput, match="no accuracy for protective-earth resistance"):
            sign(bench, job, 0.05, thermometer)

    @pytest.mark.parametrize("given", ["x", 10**30, -1, True, [1], "\u0664"])
    def test_what_is_no_instrument_is_named_in_the_sentence(self, bench, job, given):
        with pytest.raises(BadInput) as caught:
            bench.sign(
                job, EARTH, readings=[("earth_ohms", 0.1)], instruments={"earth-resistance": given}
            )
        assert caught.value.problems[0][0] == "instruments"

    def test_what_the_step_does_not_measure_is_refused(self, bench, job, clamp):
        with pytest.raises(BadInput, match="this step measures earth-resistance"):
            bench.sign(
                job, EARTH, readings=[("earth_ohms", 0.1)], instruments={"dc-voltage": clamp.pk}
            )


def test_a_step_that_holds_nothing_passes_and_keeps_the_doubt(bench, add_instrument):
    meter = add_instrument("Bench meter", ("dc-voltage", 60.0, {"reading_percent": 5.0}))
    number = bench.receive(facts=amplifier(unit__kind="mixer", unit__phantom_power=True))
    step = bench.step(number, "phantom-volts").step
    bench.ready_for(number, step)
    done = bench.sign(
        number,
        "phantom-volts",
        readings=[("phantom_volts", 45)],
        instruments={"dc-voltage": meter.pk},
    )
    assert done.state == "signed"
    assert reading_of(bench, number)["verdict"] == "too-close"
