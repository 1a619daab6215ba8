"""What the lists have no word for is told in words; "other" alone is refused by the field's name."""

from __future__ import annotations

from typing import Any

import pytest
from django.utils import timezone

from shop.jobs import commands
from shop.jobs.events.finding_recorded import FindingForm
from shop.lib.refusals import BadInput
from tests.helpers import Bench, amplifier


def refused_for(field: str, call: Any, *args: Any, **data: Any) -> str:
    with pytest.raises(BadInput) as error:
        call(*args, **data)
    assert [name for name, _ in error.value.problems] == [field]
    return error.value.problems[0][1]


@pytest.mark.parametrize("note", ["", "   "])
def test_another_finding_without_words_is_refused(bench: Bench, job: int, note: str):
    said = refused_for("note", bench.record, job, "finding_recorded", finding="other", note=note)
    assert said == "note is empty; finding is other, so say in the note what it is."


def test_another_finding_in_words_is_kept_and_holds_mains(bench: Bench, job: int):
    bench.record(job, "finding_recorded", finding="other", note="a coin in the vent")
    up = {one.hazard.key for one in bench.traveller(job).checklist.up}
    assert "other-finding" in up
    assert bench.job(job).ledger.last().data["note"] == "a coin in the vent"


def test_other_work_without_words_is_refused(bench: Bench, job: int):
    bench.open_up(job)
    said = refused_for("note", bench.record, job, "work_done", work="other")
    assert said == "note is empty; work is other, so say in the note what it is."
    bench.record(job, "work_done", work="other", note="shelf of the speaker glued")


def test_other_work_that_was_done_before_needs_words_as_well(bench: Bench, job: int):
    refused_for("note", bench.record, job, "work_done", work="other", before=True)


def test_another_symptom_stands_in_the_complaint(bench: Bench, job: int):
    data = {"name": "complaint.symptoms", "value": ["hum", "other"]}
    assert bench.job(job).complaint
    bench.record(job, "fact_recorded", **data)


def test_another_symptom_of_a_job_without_a_complaint_is_refused(people):
    received = {"by": people.technician, "at": timezone.now()}
    facts = amplifier() | {"complaint.symptoms": ["other"]}
    said = refused_for("complaint", commands.receive, facts=facts, **received)
    assert said == "complaint is empty; complaint.symptoms has other, so say what it is."
    job = commands.receive(facts=facts, complaint="smells of fish", **received)
    assert job.complaint == "smells of fish"


@pytest.mark.parametrize("fact", ["findings", "work"])
def test_what_was_found_or_done_before_the_job_needs_words_too(people, fact: str):
    received = {"by": people.technician, "at": timezone.now()}
    facts = amplifier() | {fact: ["other"]}
    refused_for("note", commands.receive, facts=facts, **received)
    commands.receive(facts=facts, note="a hole drilled into the case", **received)


def test_the_form_asks_for_the_words():
    offered = dict(FindingForm.base_fields["finding"].choices)
    assert offered["other"] == "something else: say what"
    assert offered["earth-defeated"] == "earth defeated"
