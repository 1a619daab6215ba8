from __future__ import annotations

import pytest

from shop.jobs.commands.signing import NotListed, waive
from shop.jobs.events.step_waived import StepWaived
from shop.lib.refusals import BadInput, Forbidden, Refused
from tests.helpers import Bench, amplifier


def test_a_reading_outside_its_limit_fails_the_step_whoever_signs(people, job):
    bench = Bench(people.owner)
    step = bench.sign(job, "earth-continuity", readings=[("earth_ohms", 0.31)])

    assert step.state == "failed"
    row = bench.job(job).ledger.last().data
    assert (row["result"], row["asked"]) == ("fail", "pass")
    [reading] = row["readings"]
    assert (reading["value"], reading["max"], reading["unit"]) == (0.31, 0.3, "ohm")
    assert not reading["passed"]
    assert "VDE" in reading["source"]


def test_a_later_pass_mends_a_fail(bench, job):
    bench.sign(job, "earth-continuity", readings=[("earth_ohms", 5)])
    assert bench.sign(job, "earth-continuity", readings=[("earth_ohms", 0.1)]).state == "signed"


@pytest.fixture
def kept_by_its_fail(bench, job):
    """A job with a failed step that nothing but its fail keeps on the list: the unit has no earth."""
    bench.sign(job, "earth-continuity", readings=[("earth_ohms", 5)])
    bench.record(job, "fact_recorded", name="unit.protective_class", value="II")
    assert bench.state(job, "earth-continuity") == "failed"
    return job


def test_a_step_that_only_its_fail_kept_on_the_list_is_passed_off_it(bench, kept_by_its_fail):
    """What was found by random hands: the server failed, and nobody could ever pass the step."""
    signed = bench.sign(kept_by_its_fail, "earth-continuity", readings=[("earth_ohms", 0.1)])
    assert signed.state == "signed"
    assert "earth-continuity" not in bench.traveller(kept_by_its_fail).checklist.by_key
    assert bench.kinds(kept_by_its_fail)[-1] == "step_signed"


def test_a_missing_required_reading_is_refused_with_unit_and_limit(bench, job):
    with pytest.raises(BadInput, match=r"earth_ohms is missing; read it in ohm \(at most 0\.3 ohm"):
        bench.sign(job, "earth-continuity", readings=[])
    assert bench.state(job, "earth-continuity") == "due"


def test_a_fail_needs_no_reading(bench, job):
    assert bench.sign(job, "earth-continuity", result="fail", readings=[]).state == "failed"


@pytest.mark.parametrize(
    ("readings", "field"),
    [
        ([("volts", 1)], "volts"),
        ([("earth_ohms", "a tenth")], "earth_ohms"),
        ([("earth_ohms", float("nan"))], "earth_ohms"),
        ([("earth_ohms", 0.1), ("earth_ohms", None)], "earth_ohms"),
    ],
)
def test_a_reading_that_is_none_is_named(bench, job, readings, field):
    with pytest.raises(BadInput) as caught:
        bench.sign(job, "earth-continuity", readings=readings)
    assert caught.value.problems[0][0] == field


def test_limits_follow_the_facts_of_the_unit(bench):
    one = bench.receive(facts=amplifier(unit__protective_class="I"))
    two = bench.receive(facts=amplifier(unit__protective_class="II"))
    reading = [("insulation_megohms", 1.6)]
    bench.pass_steps(one, "earth-continuity")

    assert bench.sign(one, "insulation-resistance", readings=reading).state == "signed"
    # W3.8: a class II amplifier that reads 1.6 Mohm fails, it needs 2.0.
    assert bench.sign(two, "insulation-resistance", readings=reading).state == "failed"


@pytest.mark.parametrize(
    ("practice", "insulation", "earth"),
    [("after-repair", 2.0, 0.3), ("iec", 4.0, 0.1), ("us-service", 2.0, 0.3)],
)
def test_the_practice_of_the_shop_chooses_the_limits(bench, settings, practice, insulation, earth):
    settings.PRACTICE = practice
    two = bench.receive(facts=amplifier(unit__protective_class="II"))
    one = bench.receive(facts=amplifier())
    assert bench.step(two, "insulation-resistance").readings[0].low == insulation
    assert bench.step(one, "earth-continuity").readings[0].high == earth
    listed = bench.traveller(two).checklist.by_key
    assert ("us-cold-check" in listed) is (practice == "us-service")


@pytest.mark.parametrize(
    ("mains", "set_for", "state"),
    [(0, 230, "signed"), (0, 120, "failed"), (120, 120, "signed"), (120, 230, "failed")],
)
def test_what_a_unit_is_set_for_is_judged_by_the_mains_of_the_shop(
    bench, settings, mains, set_for, state
):
    settings.MAINS_VOLTS = mains
    number = bench.receive(facts=amplifier())
    bench.pass_steps(number, "visual-intake")
    step = bench.sign(number, "mains-voltage-match", readings=[("set_volts", set_for)])
    assert step.state == state


def test_every_reading_of_a_quantity_is_judged(bench, job):
    channels = [("before_relay_millivolts", 4), ("offset_millivolts", 4), ("offset_millivolts", 80)]
    bench.limited(job)
    assert bench.sign(job, "dc-offset", readings=channels).state == "failed"


@pytest.mark.parametrize("result", ["ok", "", "waived", None, 1])
def test_an_unknown_result_is_named(bench, job, result):
    with pytest.raises(BadInput, match="it must be one of pass, fail, not-applicable"):
        bench.sign(job, "fuse-check", result=result)


def test_a_step_that_is_not_on_the_list_cannot_be_signed(bench, job):
    for key in ("hot-chassis", "no-such-step"):
        with pytest.raises(NotListed, match="is not on the checklist"):
            bench.sign(job, key, readings=[])


def test_not_applicable_needs_a_reason_and_a_step_that_allows_it(bench, job):
    with pytest.raises(BadInput, match="note is empty"):
        bench.sign(job, "reproduce-complaint", result="not-applicable")
    with pytest.raises(Refused, match="cannot be marked not applicable"):
        bench.sign(job, "touch-current", result="not-applicable", note="busy", readings=[])

    step = bench.sign(job, "reproduce-complaint", result="not-applicable", note="seen on video")
    assert step.state == "not-applicable"


@pytest.mark.parametrize("role", ["desk", "viewer", "nobody"])
def test_only_the_bench_signs(people, job, role):
    with pytest.raises(Forbidden):
        Bench(people.named(role)).sign(job, "fuse-check")


def test_waivers_are_for_few_steps_few_people_and_a_reason(people, now):
    bench, owner = Bench(people.technician), Bench(people.owner)
    number = bench.receive(facts=amplifier(intake__damage=["burnt-smell"]))

    def try_waive(by, key, reason="seen by eye"):
        return waive(number, key, reason=reason, by=by, at=now)

    with pytest.raises(Refused, match="nobody can waive"):
        try_waive(people.owner, "fuse-check")
    with pytest.raises(Refused, match="only owner can waive"):
        try_waive(people.technician, "no-power-before-look-inside")
    with pytest.raises(BadInput, match="reason is empty"):
        try_waive(people.owner, "no-power-before-look-inside", reason=" ")
    with pytest.raises(NotListed):
        try_waive(people.owner, "hot-chassis")

    assert try_waive(people.owner, "no-power-before-look-inside").state == "waived"
    row = owner.job(number).ledger.last()
    assert row.event_type == "step_waived"
    instead = owner.step(number, "no-power-before-look-inside").step.instead
    assert instead
    assert f"Instead: {instead}" in StepWaived.words(row.data)


def test_a_page_that_went_stale_cannot_sign(bench, job):
    bench.open_up(job)
    seen = bench.job(job).head
    shown = bench.step(job, "shorts-before-power").content_hash
    bench.record(job, "work_done", work="joints-reflowed")

    with pytest.raises(Refused, match="something that ends this step was recorded"):
        bench.sign(job, "shorts-before-power", seen=seen, content_hash=shown)
    assert bench.sign(job, "shorts-before-power", seen=bench.job(job).head).state == "signed"


def test_a_page_with_an_older_wording_cannot_sign(bench, job):
    shown = bench.step(job, "discharge-reservoirs").content_hash
    bench.record(job, "fact_recorded", name="unit.rail_volts", value=420)
    with pytest.raises(Refused, match="has changed since you opened it"):
        bench.sign(job, "discharge-reservoirs", content_hash=shown)


def test_a_sign_off_falls_when_a_fact_changes_its_plan(bench, job):
    bench.open_up(job)
    assert bench.state(job, "discharge-reservoirs") == "signed"
    bench.record(job, "fact_recorded", name="unit.reservoir_uf", value=22000)
    step = bench.step(job, "discharge-reservoirs")
    assert (step.state, "has changed" in step.validity.why) == ("ended", True)


def test_two_people_when_the_shop_wants_them(people, job, settings, monkeypatch):
    settings.SECOND_PERSON = True
    bench, owner = Bench(people.technician), Bench(people.owner)
    monkeypatch.setitem(
        bench.traveller(job).checklist.pack.steps,
        "fuse-check",
        _with_second_person(bench.step(job, "fuse-check").step),
    )
    # What the shipped step was worked out to before must not be remembered.
    monkeypatch.setattr("checklists.engine.derive._CACHES", {})

    assert bench.sign(job, "fuse-check").state == "due"
    assert bench.sign(job, "fuse-check").state == "due"
    assert owner.sign(job, "fuse-check").state == "signed"


def _with_second_person(step):
    from dataclasses import replace  # noqa: PLC0415

    return replace(step, second_person=True)
