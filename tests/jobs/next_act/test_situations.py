"""The next act where the unit is not on the plain way: live, open, twice, back again, declined, gone."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from shop.jobs import commands
from shop.jobs.models import Job
from shop.jobs.next_act import next_act, policies
from shop.parts import stock
from shop.parts.models import Part
from shop.parts.stock import StockActor
from tests.api.conftest import caller_for
from tests.factories import JobFactory
from tests.helpers import amplifier
from tests.jobs.next_act.follower import Follower, Truth


def act_of(number: int) -> dict:
    return next_act(Job.objects.get(pk=number), timezone.now()).as_dict()


def test_a_unit_that_is_treated_as_live_has_its_plug_pulled_first(bench, job):
    bench.open_up(job)
    bench.limited(job)
    bench.record(job, "finding_recorded", finding="insulation-damaged")
    assert bench.job(job).unplug_due
    act = act_of(job)
    assert (act["act"], act["to"]) == ("power", "isolated")
    bench.power(job, "isolated")
    assert act_of(job)["gate"] in ("open-up", "hands-in")


def test_a_unit_that_arrived_open_is_proved_dead_before_anything_else(people):
    number = JobFactory(by=people.technician, facts=amplifier(), arrived_open=True).number
    act = act_of(number)
    assert (act["act"], act["key"]) == ("sign", "unplugged-lead-in-sight")


def test_two_open_jobs_are_joined_before_mains(people, bench, job):
    other = bench.receive(facts=amplifier())
    Job.objects.filter(pk=other).update(unit=bench.job(job).unit)
    for number in (job, other):
        act = act_of(number)
        assert (act["act"], act["page"]) == ("open", "join")
    commands.join(other, job, by=people.technician, at=timezone.now())
    assert act_of(job)["act"] == "sign"
    assert act_of(other)["act"] == "none"


def test_a_unit_that_came_back_begins_at_the_counter_again(people, bench, job, clock):
    Follower(job, Truth(fault=False), people.technician, clock).follow()
    unit = bench.job(job).unit
    again = JobFactory(
        by=people.technician,
        facts=amplifier(),
        make=unit.make,
        model=unit.model,
        serial=unit.serial,
    ).number
    assert Job.objects.get(pk=again).returned_from_id == job
    assert act_of(again)["key"] == "visual-intake"


def test_a_step_that_failed_is_put_right_before_it_is_signed_again(bench, job):
    bench.sign(job, "visual-intake", result="fail")
    act = act_of(job)
    assert act["act"] == "record"
    assert {one["kind"] for one in act["choices"]} == {"work_done", "round_finished"}
    assert all("finding" not in one["data"] for one in act["choices"])


def test_what_only_the_open_unit_shows_is_signed_before_it_is_closed(people, bench, job, clock):
    hands = Follower(job, Truth(fault=False, work=("controls-cleaned",)), people.technician, clock)
    bench.record(job, "finding_recorded", finding="control-scratchy")
    hands.follow()
    signed = [line for line in hands.story if "sign solvent-dried" in line]
    assert signed
    assert all("cover off" in line for line in signed)


def test_what_failed_is_tested_again_before_mains_whatever_was_done_since(bench, job, monkeypatch):
    bench.sign(job, "earth-continuity")
    bench.sign(job, "insulation-resistance", result="fail")
    bench.record(job, "work_done", work="fuse-replaced", from_outside=True)
    mains_next = (lambda at: at.act(("power", "limited"), "It is ready."),)
    monkeypatch.setattr(policies, "_IN_ORDER", mains_next)
    assert act_of(job)["key"] == "insulation-resistance"
    bench.sign(job, "insulation-resistance")
    assert (act_of(job)["act"], act_of(job)["to"]) == ("power", "limited")


def test_while_the_estimate_is_away_it_waits_and_then_asks(bench, job, clock):
    bench.record(job, "estimate_sent")
    act = act_of(job)
    assert (act["act"], act["on"]) == ("wait", "customer")
    clock.shift(timedelta(days=2))
    assert {one["data"]["answer"] for one in act_of(job)["choices"]} == {"yes", "no", "question"}


def found_inside(bench, job):
    bench.open_up(job)
    bench.record(job, "finding_recorded", finding="relay-contacts-abraded")
    bench.record(job, "round_finished", round="look")


def test_before_work_an_estimate_is_proposed_while_no_price_is_agreed(client, people, bench, job):
    client.force_login(people.technician)
    found_inside(bench, job)
    page = client.get(f"/jobs/{job}/").content.decode()
    assert "What was done?" in page
    assert "No price is agreed yet: write an estimate" in page
    assert f'href="/jobs/{job}/estimate/"' in page
    bench.record(job, "estimate_sent")
    bench.record(job, "estimate_answered", answer="yes")
    page = client.get(f"/jobs/{job}/").content.decode()
    assert "What was done?" in page
    assert "No price is agreed yet" not in page


def needed(bench, job, quantity=1, in_bin=0):
    part = Part.objects.create(spec="Relay 24 V")
    actor = StockActor(bench.by, timezone.now())
    if in_bin:
        stock.put_in(part, stock.get_or_create_bin("A1"), in_bin, "bought", actor)
    bench.record(job, "part_needed", spec="Relay 24 V", quantity=quantity)
    return part


def test_a_part_that_lies_in_a_bin_is_taken_from_there(bench, job):
    found_inside(bench, job)
    part = needed(bench, job, in_bin=1)
    act = act_of(job)
    assert act["title"] == "Get it: Relay 24 V"
    assert [one["kind"] for one in act["choices"]] == ["part_ordered", "part_arrived"]
    take = act["choices"][-1]
    assert take["title"] == "Take it from stock: Relay 24 V"
    bench.record(job, take["kind"], **take["data"])
    [need] = bench.traveller(job).record.needs
    assert (need.part, need.arrived) == (part.pk, True)
    assert stock.free_by_part([part.pk]) == {}


@pytest.mark.parametrize(("quantity", "in_bin"), [(1, 0), (2, 1)])
def test_a_part_of_which_too_few_lie_in_a_bin_is_ordered(bench, job, quantity, in_bin):
    found_inside(bench, job)
    needed(bench, job, quantity, in_bin)
    assert act_of(job)["kind"] == "part_ordered"


def test_a_soak_runs_until_its_reading_is_due(bench, job, clock):
    bench.open_up(job)
    bench.to_soak(job)
    bench.record(job, "soak_started")
    assert act_of(job)["kind"] == "soak_reading"
    bench.record(job, "soak_reading", quantity="sink_celsius", value=40, unit="C")
    act = act_of(job)
    assert (act["act"], act["on"]) == ("wait", "soak")
    assert act["until"] == (timezone.now() + timedelta(minutes=10)).isoformat()


def test_a_soak_that_went_out_of_its_limit_is_ended_at_once(bench, job, clock):
    bench.open_up(job)
    bench.to_soak(job)
    bench.record(job, "soak_started")
    bench.record(job, "soak_reading", quantity="sink_celsius", value=97, unit="C")
    act = act_of(job)
    assert (act["kind"], act["data"]) == ("soak_ended", {"result": "fail"})
    bench.record(job, "soak_ended", result="fail")
    assert (act_of(job)["act"], act_of(job)["to"]) == ("power", "isolated")


def test_nothing_is_left_of_a_job_that_is_closed(bench, job):
    bench.pass_gate(job, "hand-back")
    bench.stage(job, "withdrawn")
    assert act_of(job)["act"] == "none"


@pytest.mark.parametrize("role", ["owner", "technician", "desk", "viewer"])
def test_every_role_may_read_it_and_nobody_else(people, job, role):
    assert caller_for(people.named(role)).get(f"jobs/{job}/next/")[0] == 200
    assert caller_for(people.nobody).get(f"jobs/{job}/next/")[0] == 403


def test_the_page_says_the_act_with_its_button(client, people, bench, job):
    client.force_login(people.technician)
    text = client.get(reverse("job", args=[job])).content.decode()
    assert act_of(job)["title"] in text
    bench.open_up(job)
    bench.power(job, "isolated")
    text = client.get(reverse("job", args=[job])).content.decode()
    assert "Look inside: what do you find?" in text
    assert "Nothing more to be found" in text
    answer = client.post(reverse("record", args=[job, "round_finished"]), {"round": "look"})
    assert answer.status_code in (200, 302)
    assert act_of(job)["title"] != "Look inside: what do you find?"


def test_the_home_page_lists_the_act_of_each_open_job(client, people, bench, job):
    client.force_login(people.technician)
    title = act_of(job)["title"]
    assert title in client.get(reverse("home")).content.decode()
    assert bench.job(job).next_title == title
