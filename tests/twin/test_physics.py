"""The physics of the twin by itself: charge against the closed form, and harms of hand-made moves."""

from __future__ import annotations

import math
from random import Random

import pytest

from tests.twin import doing, harms
from tests.twin.moves import Move
from tests.twin.units import FAULTS, KINDS, MADE_ON_CLOSING, Reservoir, Unit


def unit(name: str = "split-rail-amplifier", **state) -> Unit:
    """A unit without faults, empty, open and proved dead; then as the test says."""
    kind = KINDS[name]
    caps = [Reservoir(*spec) for spec in kind.reservoirs]
    made = Unit(name, kind, caps, set(), "S1", "off", proved_dead=True, untried=False)
    for word, value in state.items():
        setattr(made, word, value)
    return made


def work(**marks) -> Move:
    data = {"work": "relay-cleaned", **marks}
    return Move("record", "work_done", {"event_type": "work_done", "data": data})


def to(verb: str, where: str) -> Move:
    return Move(verb, where, {"to": where})


def sign(key: str) -> Move:
    return Move("sign", "sign", {"key": key}, doing=doing.doing(key))


def test_charge_decays_by_the_closed_form():
    cap = Reservoir(450.0, 100.0, 220e3, 450.0)
    cap.decay(0.5)
    assert cap.volts == pytest.approx(450.0 * math.exp(-30.0 / 22.0))
    cap.decay(1.0)
    assert cap.volts == pytest.approx(450.0 * math.exp(-90.0 / 22.0))


def test_an_open_bleeder_keeps_the_charge():
    cap = Reservoir(325.0, 220.0, math.inf, 325.0)
    cap.decay(100_000.0)
    assert cap.volts == 325.0


def test_mains_fills_every_reservoir_and_ends_the_proof():
    one = unit("valve-combo")
    one.mains_on("limited")
    assert one.highest_volts == 450.0
    assert not one.proved_dead
    one.pass_time(600.0)
    assert one.highest_volts == 450.0
    one.plug_out()
    one.pass_time(2.0)
    assert one.highest_volts == pytest.approx(450.0 * math.exp(-120.0 / 22.0))


def test_two_hands_bridge_both_rails():
    one = unit()
    one.charge()
    assert [r.volts for r in one.reservoirs] == [45.0, -45.0]
    assert one.highest_volts == 90.0


def test_a_discharge_leaves_what_the_dielectric_gives_back():
    one = unit("active-loudspeaker")
    one.charge()
    one.discharge()
    assert one.highest_volts == pytest.approx(325.0 * 0.03)
    one.mains_on("full")
    one.discharge()
    assert one.highest_volts == 325.0


@pytest.mark.parametrize(
    ("state", "harm"),
    [
        ({}, []),
        ({"power": "limited"}, ["work under mains"]),
        ({"proved_dead": False}, ["hand in an unproved unit"]),
        ({"cover": "on"}, ["work inside a closed unit"]),
    ],
)
def test_work_hurts_as_the_unit_stands(state, harm):
    assert harms.of(unit(**state), work()) == harm


def test_charge_hurts_although_it_was_proved_dead_once():
    one = unit()
    one.charge()
    assert harms.of(one, work()) == ["hand above 60 V"]
    assert harms.of(one, sign("shorts-before-power")) == ["hand above 60 V"]
    assert harms.of(one, sign("discharge-reservoirs")) == []


def test_low_voltage_needs_no_proof():
    assert harms.of(unit("adaptor-headphones", proved_dead=False), work()) == []


@pytest.mark.parametrize("mark", ["late", "before", "from_outside", "board_out"])
def test_what_is_not_done_inside_meets_no_inside(mark):
    assert harms.of(unit(cover="on", proved_dead=False), work(**{mark: True})) == []


def test_outside_work_still_meets_mains():
    assert harms.of(unit(power="full"), work(from_outside=True)) == ["work under mains"]


def test_a_known_grave_fault_under_mains_is_a_harm_and_an_unknown_or_mild_one_is_not():
    one = unit(limiter=True, faults={"damaged-lead", "dry-joint"}, told={"dry-joint"})
    assert harms.of(one, to("power", "limited")) == []
    one.told = {"damaged-lead"}
    assert harms.of(one, to("power", "limited")) == ["mains on with a known grave fault"]
    one.worked_on("mains-wiring-changed", Random(1))
    assert harms.of(one, to("power", "limited")) == []


def test_work_wants_a_trial_on_the_limiter():
    one = unit(limiter=True)
    one.mains_on("full")
    one.plug_out()
    assert harms.of(one, to("power", "full")) == []
    one.worked_on("relay-cleaned", Random(1))
    assert harms.of(one, to("power", "limited")) == ["no limiter at first mains"]
    doing.perform(doing.doing("limiter-first-power"), one)
    assert harms.of(one, to("power", "limited")) == []
    assert harms.of(one, to("power", "full")) == ["no limiter at first mains"]


def test_a_valve_stage_wants_its_load_and_a_live_chassis_its_transformer():
    one = unit("transformerless-set", load=True)
    assert harms.of(one, to("power", "full")) == ["live chassis at the bench"]
    one.isolating_transformer, one.load = True, False
    assert harms.of(one, to("power", "full")) == ["valve stage without load"]


def test_closing_makes_faults_that_closed_tests_show_and_opening_ends():
    rng, seen = Random(7), set()
    for _ in range(200):
        one = unit()
        one.close(rng)
        seen |= one.made_on_closing
        if "pinched-wire" in one.faults:
            assert doing.read("insulation_megohms", one) < 1.0
            released = harms.of(one, to("stage", "released"))
            assert released == ["released with a fault made on closing"]
        one.open()
        assert harms.of(one, to("stage", "released")) == ["leaves open"]
    assert seen == set(MADE_ON_CLOSING)


def test_a_unit_made_unusable_and_tagged_may_go_back_with_its_fault():
    one = unit(cover="on", faults={"damaged-lead"}, told={"damaged-lead"})
    assert harms.of(one, to("stage", "withdrawn")) == ["withdrawn with a known grave fault"]
    doing.perform(doing.doing("hand-back-closed"), one)
    doing.perform(doing.doing("hand-back-warned"), one)
    assert harms.of(one, to("stage", "withdrawn")) == []
    one.mains_on("limited")
    one.plug_out()
    assert harms.of(one, to("stage", "withdrawn")) == ["withdrawn with a known grave fault"]


def test_what_was_told_of_a_mended_fault_says_nothing_of_the_next_one():
    one = unit(limiter=True, faults={"cracked-insulator"}, told={"cracked-insulator"})
    one.worked_on("insulator-material-changed", Random(1))
    one.faults.add("cracked-insulator")
    assert harms.of(one, to("power", "limited")) == []
    one.told.add("cracked-insulator")
    assert harms.of(one, to("power", "limited")) == ["mains on with a known grave fault"]


def test_readings_are_true():
    one = unit(faults={"cracked-insulator"})
    assert doing.read("tab_to_sink_megohms", one) < 10.0
    assert doing.read("tab_to_sink_megohms", unit()) is None
    one.charge()
    assert doing.read("highest_volts", one) == 90.0
    one.power = "limited"
    assert doing.read("highest_volts", one) == 325.0


def test_an_inside_fuse_is_not_seen_from_outside():
    look = doing.doing("fuse-check")
    one = unit(cover="on", faults={"wrong-fuse"})
    assert doing.found(look, one) == set()
    one.cover = "off"
    assert doing.found(look, one) == {"wrong-fuse"}


def test_every_fault_of_a_kind_is_known_and_every_kind_can_be_drawn():
    for name, kind in KINDS.items():
        assert set(kind.faults) <= set(FAULTS)
        drawn = Unit.drawn(Random(3), name, "S1")
        assert drawn.faults <= set(kind.faults)
        assert drawn.highest_volts <= sum(abs(v) for v, _, _ in kind.reservoirs)


def test_what_the_shop_asks_comes_before_our_own_idea_of_a_step():
    lifted = doing.doing("verify-dead")
    assert doing.doable(lifted, unit(cover="on"), "isolated", "on")
    opened = doing.doing("verify-dead", ("isolated",), "off")
    assert not doing.doable(opened, unit(cover="on"), "isolated", "on")
    assert doing.doing("transformer-phasing").hands
    assert not doing.doing("transformer-phasing", ("limited",), "off").hands


def test_what_is_wrong_inside_is_out_of_reach_while_the_unit_is_closed():
    one = unit("turntable", faults={"damaged-lead"})
    lead = doing.doing("mains-entry-sound", ("isolated",))
    assert doing.out_of_reach(lead, one) == {"damaged-lead"}
    assert not doing.doable(lead, one, "isolated", "on")
    assert doing.doable(lead, one, "isolated", "off")
    one.rid_of({"damaged-lead"})
    assert doing.out_of_reach(lead, one) == set()
