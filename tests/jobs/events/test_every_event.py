"""For every type of event: written, refused for a bad field, for the wrong role, on a closed job."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.utils import timezone
from pydantic import ValidationError

from checklists.engine import happenings, words
from checklists.engine.history import NIGHT
from shop.jobs import commands, events
from shop.jobs.commands.transaction import job_transaction
from shop.jobs.events.base import Event
from shop.jobs.models import Job
from shop.lib.refusals import BadInput, Forbidden, Refused
from tests.helpers import Bench, amplifier

# Stored names never change; Python's may.
RENAMED = {"owner_told": "customer_told"}
FOLDER = Path(events.__file__).parent
# The row of the first need: after the unit, its complaint and its facts.
NEED = len(amplifier()) + 3


def nothing(bench: Bench, job: int) -> None:
    """The job is ready as it was received."""


def needed(bench: Bench, job: int) -> None:
    bench.record(job, "part_needed", spec="relay")


def opened(bench: Bench, job: int) -> None:
    bench.open_up(job)


def needed_and_opened(bench: Bench, job: int) -> None:
    needed(bench, job)
    opened(bench, job)


def ordered(bench: Bench, job: int) -> None:
    needed(bench, job)
    bench.record(job, "part_ordered")


def full(bench: Bench, job: int) -> None:
    bench.open_up(job)
    bench.to_soak(job)


def soaking(bench: Bench, job: int) -> None:
    full(bench, job)
    bench.record(job, "soak_started")


def gone(bench: Bench, job: int) -> None:
    bench.pass_gate(job, "hand-back")
    bench.stage(job, "withdrawn")


@dataclass(frozen=True)
class Written:
    """A type that people write: good data, a bad field with words of its sentence, who may not."""

    data: dict[str, Any]
    bad: tuple[str, Any, str]
    ready: Callable[[Bench, int], None] = nothing
    kept: dict[str, Any] = field(default_factory=dict)


WRITTEN = {
    "fact_recorded": Written({"name": "unit.year", "value": 1988}, ("name", 3, "must be text")),
    "complaint_recorded": Written({"text": "now it crackles"}, ("text", " ", "text is empty")),
    "finding_recorded": Written(
        {"finding": "joint-cracked", "section": "Left  Amplifier"},
        ("finding", "gremlins", "one of"),
        kept={"section": "left-amplifier", "note": ""},
    ),
    "work_done": Written(
        {"work": "joints-reflowed", "minutes": 20},
        ("minutes", -1, "a number of minutes from 0 to 100000"),
        opened,
        kept={"minutes": 20.0, "section": "", "note": ""},
    ),
    "trial_run": Written(
        {"conditions": ["warm", "warm"], "fault": True, "off_minutes": 5},
        ("conditions", ["lukewarm"], "it must be a list out of always, cold"),
        kept={"conditions": ["warm"], "off_minutes": 5.0, "note": ""},
    ),
    "part_needed": Written(
        {"spec": "relay 24 V", "quantity": 2},
        ("quantity", 0, "a whole number from 1 to 9,999"),
        kept={"required": True, "note": ""},
    ),
    "part_specified": Written(
        {"new_spec": "relay, 24 V"}, ("new_spec", 4, "must be text"), needed, {"need": NEED}
    ),
    "part_ordered": Written(
        {"spec": "relay"}, ("order", "seven", "the number of an order"), needed, {"need": NEED}
    ),
    "part_arrived": Written(
        {"bin": "A 4"}, ("from_stock", "yes", "true or false"), needed, {"quantity": 1, "need": NEED}
    ),
    "part_lost": Written({"why": "lost"}, ("why", "stolen", "one of lost, wrong"), ordered),
    "part_fitted": Written({}, ("need", True, "sequence of a part_needed row"), needed_and_opened),
    "suspect_changed": Written(
        {"suspect": "relay", "change": "ruled-out"},
        ("change", "maybe", "one of raised, ruled-out, confirmed"),
        kept={"section": "", "evidence": ""},
    ),
    "promise_made": Written({"on": "2026-12-24"}, ("on", "soon", "write a day like")),
    "soak_started": Written({}, ("note", 4, "must be text"), full),
    "soak_reading": Written(
        {"quantity": "sink", "value": 51.5}, ("value", "hot", "it must be a number from"), soaking
    ),
    "soak_ended": Written(
        {}, ("result", "well", "one of pass, fail"), soaking, {"result": "pass", "asked": "pass"}
    ),
    "reading_taken": Written(
        {"quantity": "offset_millivolts", "value": 3}, ("unit", "x" * 30, "at most 20")
    ),
    "curve_measured": Written(
        {"curve": "response", "x": [20, 1000, 20000], "y": [-1.5, 0, -3], "x_unit": "Hz"},
        ("y", [1, 2], "it must be a list of 3 to 400 numbers"),
        kept={"x": [20.0, 1000.0, 20000.0], "y": [-1.5, 0.0, -3.0], "y_unit": "", "channel": 1, "source": "", "note": ""},
    ),
    "round_finished": Written({"round": "look"}, ("round", "golf", "one of ask, look")),
    "limit_agreed": Written({"amount": "120,50"}, ("amount", -1, "write an amount"), nothing, {"amount": "120.50"}),
    "estimate_sent": Written(
        {"needs": [3], "work": ["relay-replaced"]}, ("needs", [0], "a list of sequences")
    ),
    "estimate_answered": Written(
        {"answer": "yes", "way": "counter"}, ("version", 1.5, "the version of the estimate")
    ),
    "question_replied": Written({"text": "On Friday."}, ("text", "a\x00b", "control character")),
    "shipped": Written({"carrier": "North Post"}, ("tracking", 7, "must be text"), gone),
    "note_added": Written({"text": "smells of tar"}, ("text", None, "text is missing")),
    "entry_withdrawn": Written(
        {"row": 2, "reason": "typed at the wrong job"},
        ("row", "two", "the sequence of a row of this job"),
        kept={"was": "complaint_recorded"},
    ),
}  # fmt: skip
PICTURE = {"photo": 1, "of": "unit", "caption": "", "sha256": "0" * 64}


def waived(bench: Bench, job: int) -> None:
    at = timezone.now()
    commands.waive(job, "no-power-before-look-inside", reason="seen", by=bench.by, at=at)


def limited(bench: Bench, job: int) -> None:
    bench.limited(job)


def shut(bench: Bench, job: int) -> None:
    bench.pass_gate(job, "open-up")


def uncovered(bench: Bench, job: int) -> None:
    shut(bench, job)
    bench.cover(job, "off")


def soaked(bench: Bench, job: int) -> None:
    bench.soak(job)
    bench.power(job, "isolated")
    bench.pass_gate(job, "release")


@dataclass(frozen=True)
class Commanded:
    """A type that a command writes: how, the same with something wrong, who may not."""

    act: Callable[[Bench, int], Any]
    wrong: Callable[[Bench, int], Any]
    ready: Callable[[Bench, int], None] = nothing
    may_not: str = "desk"


def told(bench: Bench, job: int, about: Any = "received") -> None:
    at = timezone.now()
    commands.record_customer_told(job, about, way="e-mail", at=at)


def pictured(bench: Bench, job: int, **picture: Any) -> None:
    commands.add_photo(job, PICTURE | picture, by=bench.by, at=timezone.now())


def asked(bench: Bench, job: int, question: str = "When?") -> None:
    commands.record_question(job, question, at=timezone.now())


def corrected(bench: Bench, job: int, serial: Any = "K-77") -> None:
    commands.correct_intake(job, serial=serial, by=bench.by, at=timezone.now())


def twins(bench: Bench, job: int) -> None:
    """A second open job of the unit, as shops of older releases have them."""
    other = bench.receive()
    Job.objects.filter(pk=other).update(unit=bench.job(job).unit_id)


def joined(bench: Bench, job: int) -> None:
    [other] = [n for n in bench.job(job).unit.open_jobs() if n != job]
    commands.join(other, job, by=bench.by, at=timezone.now())


def money(event_type: str, **data: Any) -> Callable[[Bench, int], None]:
    """Write what the record says of a bill."""

    def write(bench: Bench, job: int) -> None:
        event = events.find(event_type)(**data)
        commands.record_money(job, event, by=bench.by, at=timezone.now())

    return write


def billed(event_type: str, **data: Any) -> Commanded:
    sound, unsound = money(event_type, **data), money(event_type, **data, colour="red")
    return Commanded(sound, unsound, may_not="technician")


COMMANDED = {
    "received": Commanded(
        lambda b, n: b.receive(), lambda b, n: b.receive(make=7), may_not="viewer"
    ),
    "stage_changed": Commanded(
        lambda b, n: b.stage(n, "reproducing"), lambda b, n: b.stage(n, "mended")
    ),
    "step_signed": Commanded(
        lambda b, n: b.sign(n, "visual-intake"), lambda b, n: b.sign(n, "visual-intake", "ok")
    ),
    "step_waived": Commanded(
        waived, lambda b, n: commands.waive(n, "x", reason=" ", by=b.by, at=timezone.now())
    ),
    "permit_granted": Commanded(limited, lambda b, n: b.power(n, "on")),
    "power_applied": Commanded(limited, lambda b, n: b.power(n, "on")),
    "power_removed": Commanded(
        lambda b, n: b.power(n, "isolated"), lambda b, n: b.power(n, "off"), limited, "nobody"
    ),
    "plug_doubted": Commanded(
        lambda b, n: commands.doubt_plug(n, by=b.by, at=timezone.now()),
        lambda b, n: b.power(n, "in"),
        may_not="nobody",
    ),
    "cover_removed": Commanded(
        lambda b, n: b.cover(n, "off"), lambda b, n: b.cover(n, "ajar"), shut
    ),
    "cover_fitted": Commanded(
        lambda b, n: b.cover(n, "on"), lambda b, n: b.cover(n, "ajar"), uncovered
    ),
    "photo_added": Commanded(
        pictured, lambda b, n: pictured(b, n, photo="first"), may_not="viewer"
    ),
    "owner_told": Commanded(told, lambda b, n: told(b, n, about=4), may_not=""),
    "question_asked": Commanded(asked, lambda b, n: asked(b, n, " "), may_not=""),
    "released": Commanded(
        lambda b, n: b.stage(n, "released"), lambda b, n: b.stage(n, "sold"), soaked
    ),
    "withdrawn": Commanded(
        lambda b, n: b.stage(n, "withdrawn"),
        lambda b, n: b.stage(n, "sold"),
        lambda b, n: b.clear(n, words.HAND_BACK),
    ),
    "intake_corrected": Commanded(
        corrected, lambda b, n: corrected(b, n, serial=7), may_not="viewer"
    ),
    "bill_issued": billed("bill_issued", bill="2031-0007", total="190.40", currency="EUR"),
    "bill_credited": billed(
        "bill_credited", credit="2031-0008", bill="2031-0007", total="1.00", currency="EUR"
    ),
    "bill_paid": billed("bill_paid", amount="50.00", currency="EUR", way="cash"),
    "jobs_joined": Commanded(joined, lambda b, n: b.stage(n, "joined"), twins),
}


def of_type(event_type: str, job: int, bench: Bench) -> list[Any]:
    return list(bench.job(job).ledger.filter(event_type=event_type).order_by("sequence"))


def test_every_type_is_tried_here_and_stands_in_a_module_of_its_name():
    types = [event.event_type for event in events.EVENTS]
    assert sorted(types) == sorted([*WRITTEN, *COMMANDED])
    assert len(types) == len(set(types))
    assert {event.event_type for event in events.written_by_people()} == set(WRITTEN)
    for event in events.EVENTS:
        name = RENAMED.get(event.event_type, event.event_type)
        assert event.__module__ == f"shop.jobs.events.{name}"
        assert event.__name__ == "".join(part.capitalize() for part in name.split("_"))
        assert event.__doc__ != Event.__doc__


def test_what_a_pack_may_name_stands_in_a_ledger():
    """A step that is ended by an event which nobody can write would stand for ever."""
    assert set(words.EVENTS) - {NIGHT} <= {event.event_type for event in events.EVENTS}


def test_the_night_is_worked_out_and_stands_in_no_ledger(bench, job):
    with time_machine.travel(timezone.now() + timedelta(days=1)):
        bench.record(job, "note_added", text="good morning")
        assert NIGHT in [one.event_type for one in bench.traveller(job).record.history_events]
    assert NIGHT not in bench.kinds(job)
    assert NIGHT not in [event.event_type for event in events.EVENTS]
    with pytest.raises(BadInput, match="it must be one of fact_recorded"):
        bench.record(job, NIGHT)


def test_only_types_and_what_they_share_stand_in_the_folder():
    shared = {
        "__init__", "about_needs", "base", "closing", "fields", "forms", "marks", "nights",
        "reading", "signoffs", "stored",
    }  # fmt: skip
    files = {file.stem for file in FOLDER.glob("*.py")}
    types = {event.event_type for event in events.EVENTS}
    assert files - shared == {RENAMED.get(name, name) for name in types}


class TestWrittenByPeople:
    @pytest.mark.parametrize("event_type", WRITTEN)
    def test_it_is_kept(self, bench, job, event_type):
        case = WRITTEN[event_type]
        case.ready(bench, job)

        row = bench.record(job, event_type, **case.data)

        stored = {**case.data, **case.kept}
        stored.pop("bin", None)  # kept by the record of the stock
        assert {name: row.data[name] for name in stored} == stored
        assert (row.event_type, row.by_name) == (event_type, "technician")
        assert of_type(event_type, job, bench)[-1].body == row.body

    @pytest.mark.parametrize("event_type", WRITTEN)
    def test_a_bad_field_is_named_and_nothing_is_written(self, bench, job, event_type):
        case = WRITTEN[event_type]
        name, value, words_ = case.bad
        before = bench.kinds(job)

        with pytest.raises(BadInput) as caught:
            bench.record(job, event_type, **{**case.data, name: value})

        assert words_ in dict(caught.value.problems)[name]
        assert bench.kinds(job) == before

    @pytest.mark.parametrize("event_type", WRITTEN)
    def test_a_field_that_it_has_not_is_named(self, bench, job, event_type):
        data = {**WRITTEN[event_type].data, "colour": "red", "source_": None}
        filled = sorted(events.find(event_type).filled_in)
        with pytest.raises(BadInput) as caught:
            bench.record(job, event_type, **data, **dict.fromkeys(filled, "x"))
        assert [name for name, _ in caught.value.problems] == ["colour", "source_", *filled]
        sentence = caught.value.problems[0][1]
        assert sentence.startswith(f"'colour' is not a field of {event_type}; it has ")
        assert not any(name in sentence for name in filled)

    @pytest.mark.parametrize("role", ["desk", "viewer", "nobody"])
    @pytest.mark.parametrize("event_type", WRITTEN)
    def test_the_wrong_role_writes_nothing(self, people, job, event_type, role):
        by = Bench(people.named(role))
        if role == "desk" and events.find(event_type).ability == "note":
            return
        before = by.kinds(job)
        with pytest.raises(Forbidden):
            by.record(job, event_type, **WRITTEN[event_type].data)
        assert by.kinds(job) == before

    @pytest.mark.parametrize("event_type", WRITTEN)
    def test_a_closed_job_takes_notes_alone(self, bench, job, event_type):
        gone(bench, job)
        if events.find(event_type).on_closed_job:
            bench.record(job, event_type, **WRITTEN[event_type].data)
        else:
            with pytest.raises(Refused, match="The job is closed; only notes can be added"):
                bench.record(job, event_type, **WRITTEN[event_type].data)


class TestWrittenByCommands:
    @pytest.fixture
    def job(self, bench):
        """One whose checklist has a step that can be waived."""
        return bench.receive(facts=amplifier(intake__damage=["burnt-smell"]))

    @pytest.fixture
    def owner(self, people):
        return Bench(people.owner)

    @pytest.mark.parametrize("event_type", COMMANDED)
    def test_it_is_written(self, owner, job, event_type):
        case = COMMANDED[event_type]
        case.ready(owner, job)
        before = len(of_type(event_type, job, owner))

        made = case.act(owner, job)

        number = made if event_type == "received" else job
        rows = of_type(event_type, number, owner)
        assert len(rows) == (1 if event_type == "received" else before + 1)
        fields = events.find(event_type).model_fields.items()
        known = {field.serialization_alias or name for name, field in fields}
        assert rows[-1].data.keys() <= known

    @pytest.mark.parametrize("event_type", COMMANDED)
    def test_something_wrong_writes_nothing(self, owner, job, event_type):
        case = COMMANDED[event_type]
        case.ready(owner, job)
        before = owner.kinds(job)
        with pytest.raises((BadInput, ValidationError)):
            case.wrong(owner, job)
        assert owner.kinds(job) == before

    @pytest.mark.parametrize("event_type", [n for n, one in COMMANDED.items() if one.may_not])
    def test_the_wrong_role_writes_nothing(self, people, owner, job, event_type):
        case = COMMANDED[event_type]
        case.ready(owner, job)
        before = owner.kinds(job)
        with pytest.raises(Forbidden):
            case.act(Bench(people.named(case.may_not)), job)
        assert owner.kinds(job) == before

    @pytest.mark.parametrize("event_type", COMMANDED)
    def test_people_cannot_write_it_as_a_row(self, owner, job, event_type):
        with pytest.raises(BadInput, match="it must be one of fact_recorded"):
            owner.record(job, event_type)


@pytest.mark.parametrize("event", events.EVENTS, ids=lambda event: event.event_type)
def test_on_a_closed_job_every_other_event_is_refused(bench, job, event):
    gone(bench, job)
    with job_transaction(job, by=bench.by, at=timezone.now()) as tx:
        codes = [refusal.code for refusal in event.model_construct().refusals(tx)]
    assert codes == ([] if event.on_closed_job else ["closed"])


def test_a_stored_row_of_every_event_can_be_replayed():
    """Its fields are known to `rules replay`, which names every other one as a slip."""
    fields = {
        given.serialization_alias or name
        for event in events.EVENTS
        for name, given in event.model_fields.items()
    }
    assert fields - set(happenings.Happening.model_fields) == happenings.BESIDE
