from __future__ import annotations

import pytest
from django.utils import timezone

from shop.jobs import commands, queries
from shop.jobs.models import Job
from shop.lib.refusals import BadInput, Forbidden
from tests.helpers import amplifier

SIX_SCRIPTS = "Brummt leise, гудит, 嗡嗡, うなる, يطنّ, βουίζει"


def test_a_unit_that_comes_in_opens_a_job_with_a_checklist(bench):
    number = bench.receive(facts=amplifier(), complaint="hums")

    job = bench.job(number)
    assert (job.stage, job.power, job.cover) == ("received", "isolated", "on")
    assert job.waiting_on == "hands"
    assert job.next_step == "visual-intake"
    assert job.due_at > job.received_at
    assert bench.kinds(number)[:2] == ["received", "complaint_recorded"]


def test_what_is_not_known_stays_unknown_and_keeps_its_steps(bench):
    number = bench.receive(facts={})

    checklist = bench.traveller(number).checklist
    assert {"discharge-reservoirs", "hot-chassis", "earth-continuity"} <= set(checklist.by_key)
    assert "unit.rail_volts" in checklist.missing_facts
    assert "unit.rail_volts" not in bench.traveller(number).record.facts


def test_text_in_six_scripts_is_kept_as_it_was_written(bench):
    number = bench.receive(make="Ünïted", model="音響", complaint=SIX_SCRIPTS)
    assert bench.job(number).complaint == SIX_SCRIPTS
    assert bench.job(number).unit.model == "音響"


def test_findings_and_work_known_at_intake_become_rows(bench):
    number = bench.receive(facts={"findings": ["belt-perished"], "work": ["fuse-replaced"]})
    assert {"finding_recorded", "work_done"} <= set(bench.kinds(number))
    facts = bench.traveller(number).record.facts
    assert (facts["findings"], facts["work"]) == (["belt-perished"], ["fuse-replaced"])


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"make": "x" * 121}, "make"),
        ({"complaint": "x" * 20_001}, "complaint"),
        ({"complaint": "null \x00 byte"}, "complaint"),
        ({"model": "half \ud800 a pair"}, "model"),
        ({"make": 7}, "make"),
        ({"facts": {"unit.colour": "red"}}, "unit.colour"),
        ({"facts": {"unit.kind": "toaster"}}, "unit.kind"),
        ({"facts": {"job.power": "full"}}, "job.power"),
        ({"facts": {"job.clean_trials_needed": 1}}, "job.clean_trials_needed"),
    ],
)
def test_bad_input_is_named_and_nothing_is_kept(bench, given, field):
    with pytest.raises(BadInput) as caught:
        bench.receive(**given)

    assert field in [name for name, _ in caught.value.problems]
    assert not Job.objects.exists()


def test_a_reference_is_taken_once(bench):
    number = bench.receive(reference="A-17")
    with pytest.raises(BadInput, match=f"already job {number}"):
        bench.receive(reference="A-17")


def test_the_viewer_receives_nothing(people):
    with pytest.raises(Forbidden, match="You are viewer; this is for owner or technician or desk"):
        commands.receive(by=people.viewer, at=timezone.now(), make="X")


def test_a_unit_that_was_released_comes_back_as_a_new_job(bench):
    first = bench.receive(make="Corvenby", model="Spool 3", serial="1", facts=amplifier())
    bench.soak(first)
    bench.power(first, "isolated")
    bench.pass_gate(first, "release")
    bench.stage(first, "released")

    again = bench.receive(make="Corvenby", model="Spool 3", serial="1", facts=amplifier())

    assert bench.job(again).returned_from_id == first
    assert bench.traveller(again).record.facts["job.returned"] is True
    assert "clean-trials" in bench.traveller(again).checklist.by_key


def test_the_same_make_and_model_without_a_serial_is_another_unit(bench):
    one = bench.receive(make="Corvenby", model="Spool 3", serial="")
    two = bench.receive(make="Corvenby", model="Spool 3", serial="")
    assert bench.job(one).unit_id != bench.job(two).unit_id


def test_a_stalled_job_waits_on_nobody(bench, now):
    number = bench.receive()
    assert queries.job(number, now).waiting == "hands"
    later = bench.job(number).due_at + timezone.timedelta(seconds=1)
    assert queries.job(number, later).waiting == "nobody"
