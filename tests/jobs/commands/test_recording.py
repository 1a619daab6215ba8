from __future__ import annotations

import math

import pytest

from shop.jobs import events
from shop.lib.refusals import BadInput, Forbidden, Refused
from tests.helpers import Bench

GOOD = {
    "fact_recorded": {"name": "unit.year", "value": 1988},
    "complaint_recorded": {"text": "now it crackles too"},
    "finding_recorded": {"finding": "joint-cracked", "section": "Left  Amplifier", "note": "R12"},
    "trial_run": {"conditions": ["warm"], "fault": True},
    "suspect_changed": {"suspect": "relay", "change": "ruled-out", "evidence": "12 mohm"},
    "work_done": {"work": "joints-reflowed", "section": "supply", "minutes": 20, "note": ""},
    "part_needed": {"spec": "relay 24 V", "required": False},
    "estimate_sent": {},
    "estimate_answered": {"answer": "yes"},
    "limit_agreed": {"amount": "120"},
    "question_replied": {"text": "On Friday."},
    "note_added": {"text": "smells of tar"},
}


@pytest.mark.parametrize("kind", GOOD)
def test_what_people_write_is_kept(bench, job, kind):
    if kind == "work_done":
        bench.open_up(job)
    row = bench.record(job, kind, **GOOD[kind])
    assert (row.event_type, row.by_name) == (kind, "technician")
    for name, value in GOOD[kind].items():
        assert row.data[name] == ("left-amplifier" if name == "section" and "L" in value else value)


def test_only_what_has_left_the_bench_is_shipped(bench, job):
    with pytest.raises(Refused, match="on the bench"):
        bench.record(job, "shipped", carrier="North Post")
    bench.pass_gate(job, "hand-back")
    bench.stage(job, "withdrawn")
    assert (
        bench.record(job, "shipped", carrier="North Post", tracking="N 1").data["tracking"] == "N 1"
    )


BAD = [
    ("lunch", {}, "kind", "it must be one of fact_recorded"),
    ("step_signed", {}, "kind", "it must be one of"),
    ("power_applied", {}, "kind", "it must be one of"),
    ("permit_granted", {}, "kind", "it must be one of"),
    ("released", {}, "kind", "it must be one of"),
    ("fact_recorded", {"name": "unit.colour", "value": 1}, "unit.colour", "not a fact"),
    ("fact_recorded", {"name": "unit.year", "value": "old"}, "unit.year", "a whole number"),
    ("fact_recorded", {"name": "unit.year"}, "value", "value is missing"),
    ("fact_recorded", {"value": 3}, "name", "name is missing"),
    ("fact_recorded", {"name": "job.power", "value": "full"}, "job.power", "follows from"),
    ("fact_recorded", {"name": "findings", "value": []}, "findings", "follows from"),
    ("finding_recorded", {"finding": "gremlins"}, "finding", "must be one of"),
    ("finding_recorded", {}, "finding", "finding is missing"),
    ("finding_recorded", {"finding": "dust-heavy", "colour": 1}, "colour", "not a field"),
    ("finding_recorded", {"finding": "dust-heavy", "section": 4}, "section", "must be text"),
    ("trial_run", {"conditions": "warm", "fault": True}, "conditions", "a list out of"),
    ("trial_run", {"conditions": ["lukewarm"], "fault": True}, "conditions", "a list out of"),
    ("trial_run", {"conditions": []}, "fault", "fault is missing"),
    ("trial_run", {"fault": "yes"}, "fault", "true or false"),
    ("work_done", {"work": "magic"}, "work", "must be one of"),
    ("work_done", {"work": "fuse-replaced", "minutes": -1}, "minutes", "from 0"),
    ("work_done", {"work": "fuse-replaced", "minutes": math.nan}, "minutes", "a number"),
    ("part_needed", {"required": True}, "spec", "spec is missing"),
    ("part_needed", {"spec": "  "}, "spec", "spec is empty"),
    ("part_needed", {"spec": "x", "required": 1}, "required", "true or false"),
    ("part_arrived", {"need": "x"}, "need", "sequence of a part_needed row"),
    ("part_arrived", {"need": 10**12}, "need", "sequence of a part_needed row"),
    ("estimate_answered", {"answer": "perhaps"}, "answer", "yes, no, question"),
    ("note_added", {"text": "x" * 10_000_000}, "text", "10\u202f000\u202f000 characters"),
    ("note_added", {"text": "a\x00b"}, "text", "control character"),
    ("suspect_changed", {"suspect": "relay", "change": "maybe"}, "change", "raised"),
    ("soak_reading", {"quantity": "sink", "value": "hot"}, "value", "a number"),
    ("soak_reading", {"quantity": "sink", "value": math.inf}, "value", "a number"),
]


@pytest.mark.parametrize(("kind", "data", "field", "words"), BAD)
def test_bad_rows_are_named_and_nothing_is_written(bench, job, kind, data, field, words):
    before = bench.kinds(job)
    with pytest.raises(BadInput) as caught:
        bench.record(job, kind, **data)

    told = dict(caught.value.problems)
    assert words in told[field]
    assert len(told[field]) < 2000
    assert bench.kinds(job) == before


def test_every_fault_of_a_row_is_told_at_once(bench, job):
    with pytest.raises(BadInput) as caught:
        bench.record(job, "work_done", work="magic", minutes="long", colour="red")
    assert {field for field, _ in caught.value.problems} == {"work", "minutes", "colour"}


@pytest.mark.parametrize("data", [None, [], "text", 3])
def test_data_that_is_no_object_is_refused(people, job, now, data):
    from shop.jobs import commands  # noqa: PLC0415

    with pytest.raises(BadInput, match="it must be an object"):
        commands.record(job, "note_added", data, by=people.technician, at=now)


@pytest.mark.parametrize("role", ["desk", "viewer", "nobody"])
@pytest.mark.parametrize("kind", sorted(GOOD))
def test_the_desk_writes_what_is_the_desks_and_the_viewer_nothing(people, job, role, kind):
    by = Bench(people.named(role))
    if role == "desk" and events.find(kind).ability == "note":
        assert by.record(job, kind, **GOOD[kind]).by_name == "desk"
    else:
        with pytest.raises(Forbidden):
            by.record(job, kind, **GOOD[kind])


def test_parts_are_found_by_number_by_spec_or_because_there_is_only_one(bench, job):
    with pytest.raises(Refused, match="No part need of this job is still to be arrived"):
        bench.record(job, "part_arrived")

    first = bench.record(job, "part_needed", spec="relay")
    bench.record(job, "part_arrived")
    second = bench.record(job, "part_needed", spec="belt")
    third = bench.record(job, "part_needed", spec="lamp")

    with pytest.raises(BadInput, match="this job has several"):
        bench.record(job, "part_arrived")
    with pytest.raises(BadInput, match="no part need of that spec"):
        bench.record(job, "part_arrived", spec="valve")
    with pytest.raises(BadInput, match="no part need of that number"):
        bench.record(job, "part_arrived", need=999)
    assert bench.record(job, "part_arrived", spec="belt").data["need"] == second.sequence
    bench.record_late(job, "part_fitted", need=third.sequence)

    needs = {need.sequence: need for need in bench.traveller(job).record.needs}
    assert not needs[first.sequence].outstanding
    assert bench.traveller(job).record.outstanding == []


def test_the_complaint_on_the_job_is_the_newest(bench, job):
    bench.record(job, "complaint_recorded", text="now it is silent")
    assert bench.job(job).complaint == "now it is silent"
