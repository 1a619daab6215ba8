from __future__ import annotations

import pytest
from django.utils import timezone

from checklists.engine.words import COVER_OFF, LIMITED
from shop.jobs import commands
from shop.jobs.models import Permit
from shop.lib.refusals import BadInput, Forbidden, Refused
from tests.helpers import Bench


def test_mains_is_refused_until_every_hold_step_of_the_gate_is_signed(bench, job):
    gate = [step.key for step in bench.traveller(job).checklist.gate("first-power")]
    assert gate == ["visual-intake", "mains-voltage-match", "fuse-check", "limiter-first-power"]

    for key in gate:
        with pytest.raises(Refused) as caught:
            bench.power(job, "limited")
        assert key in [refusal.step for refusal in caught.value.unmet]
        bench.sign(job, key)

    assert bench.power(job, "limited").power == "limited"
    assert bench.kinds(job)[-2:] == ["permit_granted", "power_applied"]
    assert Permit.objects.get(job=job, ended_at=None).power == "limited"


def test_full_comes_only_after_limited(bench, job):
    bench.pass_gate(job, "first-power")
    with pytest.raises(Refused, match="limited, then full"):
        bench.power(job, "full")


def test_full_has_a_permit_of_its_own_and_ends_that_of_the_limiter(bench, job):
    bench.full(job)
    limited, full = Permit.objects.filter(job=job).order_by("pk")
    assert (limited.power, full.power, full.gates) == ("limited", "full", "full-power")
    assert (limited.ended_at, full.ended_at) == (full.granted_at, None)
    assert limited.ended_because == "full mains has a permit of its own"


def test_a_stray_permit_keeps_nobody_from_mains(bench, people, job, now):
    stray = {"power": "limited", "gates": "", "granted_at": now, "granted_by": people.owner}
    Permit.objects.create(job_id=job, **stray)
    bench.limited(job)
    live = Permit.objects.get(job=job, ended_at=None)
    assert (live.power, live.gates) == ("limited", "first-power")


def test_going_back_to_the_limiter_goes_through_isolated(bench, job):
    bench.full(job)
    with pytest.raises(Refused, match="Take mains off before the limiter"):
        bench.power(job, "limited")
    assert bench.job(job).power == "full"


def test_an_opened_unit_needs_the_gate_of_an_opened_unit(bench, job):
    bench.open_up(job)
    assert bench.entry_gate(job) == "limited-power"
    with pytest.raises(Refused) as caught:
        bench.power(job, "limited")
    assert "shorts-before-power" in [refusal.step for refusal in caught.value.unmet]


def test_closing_the_cover_does_not_make_it_untouched_again(bench, job):
    bench.open_up(job)
    bench.cover(job, "on")
    assert bench.entry_gate(job) == "limited-power"


def test_taking_mains_off_ends_the_permit(bench, job):
    bench.full(job)
    bench.power(job, "isolated")

    assert bench.job(job).power == "isolated"
    assert not Permit.objects.filter(job=job, ended_at=None).exists()
    assert bench.kinds(job)[-1] == "power_removed"


def test_taking_mains_off_twice_writes_nothing_more(bench, job):
    before = bench.kinds(job)
    version = bench.job(job).version
    bench.power(job, "isolated")
    assert (bench.kinds(job), bench.job(job).version) == (before, version)


@pytest.mark.parametrize("role", ["owner", "technician", "desk", "viewer"])
def test_everybody_with_a_role_may_take_mains_off(bench, people, job, role):
    bench.limited(job)
    assert Bench(people.named(role)).power(job, "isolated").power == "isolated"


@pytest.mark.parametrize("role", ["desk", "viewer", "nobody"])
def test_only_the_bench_applies_power(bench, people, job, role):
    bench.pass_gate(job, "first-power")
    with pytest.raises(Forbidden):
        Bench(people.named(role)).power(job, "limited")


@pytest.mark.parametrize("to", ["on", "", "FULL", "Isolated", None, 3])
def test_an_unknown_power_is_named(bench, job, to):
    with pytest.raises(BadInput, match="it must be one of isolated, limited, full"):
        bench.power(job, to)


def test_work_recorded_under_power_takes_the_permit_and_the_mains(bench, job):
    bench.limited(job)
    bench.record_late(job, "work_done", work="fuse-replaced", section="mains-inlet")

    after = bench.job(job)
    assert (after.power, after.unplug_due) == ("isolated", True)
    assert bench.kinds(job)[-2:] == ["work_done", "power_removed"]
    row = after.ledger.last()
    assert "Each fuse against plate" in row.data["because"]


def test_a_failed_step_of_the_gate_takes_the_mains(bench, job):
    bench.limited(job)
    bench.sign(job, "fuse-check", result="fail")
    assert bench.job(job).power == "isolated"
    assert bench.job(job).unplug_due


def test_a_fact_that_changes_the_gate_takes_the_mains(bench, job):
    bench.limited(job)
    bench.record(job, "fact_recorded", name="unit.supply", value="transformerless")
    assert bench.job(job).power == "isolated"


def test_a_fact_that_changes_nothing_at_the_gate_leaves_the_mains(bench, job):
    bench.limited(job)
    bench.record(job, "fact_recorded", name="unit.year", value=1977)
    assert bench.job(job).power == "limited"


def test_at_full_power_the_gate_it_came_through_still_holds(bench, job):
    bench.full(job)
    bench.sign(job, "mains-voltage-match", result="fail")
    assert bench.job(job).power == "isolated"


def test_after_a_permit_fell_the_plug_is_confirmed_before_anything_moves(bench, job):
    bench.limited(job)
    bench.sign(job, "fuse-check", result="fail")
    for move, to in ((bench.power, "limited"), (bench.cover, "off")):
        with pytest.raises(Refused, match="Pull the plug"):
            move(job, to)

    bench.power(job, "isolated")
    assert not bench.job(job).unplug_due
    bench.clear(job, LIMITED)
    assert bench.power(job, "limited").power == "limited"


def test_steps_done_on_a_dead_unit_cannot_be_signed_under_power(bench, job):
    bench.limited(job)
    with pytest.raises(Refused, match="done with power isolated; power is limited"):
        bench.sign(job, "unplugged-lead-in-sight")


def test_power_ends_what_was_proved_dead(bench, job):
    bench.open_up(job)
    bench.limited(job)
    bench.power(job, "isolated")

    assert bench.state(job, "verify-dead") == "ended"
    with pytest.raises(Refused, match="Prove it dead"):
        bench.record(job, "work_done", work="relay-cleaned")


def test_power_ends_that_the_plug_is_out(bench, job):
    bench.clear(job, COVER_OFF)
    bench.limited(job)
    bench.power(job, "isolated")
    with pytest.raises(Refused, match="Mains plug out"):
        bench.cover(job, "off")


def test_the_cover_stays_on_under_power(bench, job):
    bench.limited(job)
    with pytest.raises(Refused, match=r"Mains is on\. Take it off before the cover comes off"):
        bench.cover(job, "off")


@pytest.mark.parametrize("power", ["limited", "full"])
def test_the_cover_does_not_go_on_under_mains(bench, job, power):
    bench.open_up(job)
    getattr(bench, power)(job)
    with pytest.raises(Refused, match=r"Mains is on\. Take it off before the cover goes on"):
        bench.cover(job, "on")
    bench.power(job, "isolated")
    assert bench.cover(job, "on").cover == "on"


def test_reopening_ends_the_touch_current_test(bench, job):
    bench.ready_for(job, bench.step(job, "earth-continuity").step)
    bench.pass_steps(job, "earth-continuity", "insulation-resistance", "touch-current")
    bench.power(job, "isolated")
    bench.clear(job, COVER_OFF)
    bench.cover(job, "off")
    assert bench.state(job, "touch-current") == "ended"


def test_work_on_the_front_panel_leaves_the_hot_bias_setting(bench, job):
    bench.open_up(job)
    bench.full(job)
    bench.sign(job, "bias-set-hot")
    bench.record_late(job, "work_done", work="joints-reflowed", section="front panel")
    assert bench.state(job, "bias-set-hot") == "signed"
    bench.record_late(job, "work_done", work="joints-reflowed", section="left amplifier")
    assert bench.state(job, "bias-set-hot") == "ended"


def test_renewing_the_interface_ends_the_hot_bias_setting(bench, job):
    bench.open_up(job)
    bench.full(job)
    bench.sign(job, "bias-set-hot")
    bench.record_late(job, "work_done", work="belt-replaced")
    assert bench.state(job, "bias-set-hot") == "signed"
    bench.record_late(job, "work_done", work="thermal-interface-renewed")
    assert bench.state(job, "bias-set-hot") == "ended"


# Mains off that is told late: a page from before, a request that was sent again.


def seen_now(bench, number):
    return bench.job(number).head


def off(bench, number, seen):
    return commands.set_power(number, "isolated", by=bench.by, at=timezone.now(), seen=seen)


def test_mains_off_that_is_told_late_ends_the_mains_that_was_seen(bench, job):
    bench.limited(job)
    seen = seen_now(bench, job)
    bench.full(job)
    assert off(bench, job, seen).power == "isolated"


def test_mains_off_that_is_told_late_does_not_take_down_a_newer_permit(bench, job):
    bench.limited(job)
    seen = seen_now(bench, job)
    bench.power(job, "isolated")
    bench.limited(job)
    rows = bench.kinds(job)
    with pytest.raises(Refused, match=r"mains came on again .* by technician") as caught:
        off(bench, job, seen)
    assert [refusal.code for refusal in caught.value.refusals] == ["late-isolation"]
    assert bench.kinds(job) == rows
    assert bench.job(job).power == "limited"
    assert Permit.objects.filter(job=job, ended_at=None).count() == 1
    # Said of the mains that is on now, with what is seen now or without: never refused.
    assert off(bench, job, seen_now(bench, job)).power == "isolated"


def test_a_plug_that_was_out_earlier_does_not_cover_a_permit_that_fell_since(bench, job):
    bench.limited(job)
    seen = seen_now(bench, job)
    bench.power(job, "isolated")
    bench.limited(job)
    bench.record(job, "finding_recorded", finding="insulation-damaged")
    assert bench.job(job).unplug_due
    with pytest.raises(Refused, match="mains came on again"):
        off(bench, job, seen)
    assert bench.job(job).unplug_due
    assert not off(bench, job, seen_now(bench, job)).unplug_due


def test_mains_off_that_is_told_late_of_a_unit_that_is_off_changes_nothing(bench, job):
    bench.limited(job)
    seen = seen_now(bench, job)
    bench.power(job, "isolated")
    rows = bench.kinds(job)
    assert off(bench, job, seen).power == "isolated"
    assert bench.kinds(job) == rows


def test_mains_off_without_what_was_seen_is_never_refused(bench, job):
    bench.limited(job)
    assert off(bench, job, None).power == "isolated"
