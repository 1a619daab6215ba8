"""An import is written some rows at a time: others write in between, and what stops it is made good."""

from __future__ import annotations

import io
from datetime import timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db import IntegrityError, OperationalError
from django.utils import timezone

from checklists.engine.words import HAND_BACK
from shop.customers.models import Customer
from shop.intake import many
from shop.intake import services as intake_services
from shop.jobs import commands, queries
from shop.jobs.commands import transaction
from shop.jobs.models import Job, LedgerRow, StageVisit
from shop.reminders.periodic import PERIODIC_TASKS
from shop.transfer import job_import
from shop.transfer.models import JobImport
from tests.helpers import Bench

pytestmark = pytest.mark.django_db

HEADER = "reference,make,model,serial,problem,customer_name,customer_email\n"


def rows(n: int) -> str:
    return HEADER + "".join(
        f"R{i},Corvenby,Spool {i % 3},S-{100 + i},hums,Tobias,tobias@example.org\n"
        for i in range(n)
    )


@pytest.fixture
def file(tmp_path, monkeypatch):
    monkeypatch.setattr(job_import, "BATCH", 3)

    def write(text: str):
        place = tmp_path / "jobs.csv"
        place.write_text(text)
        return place

    return write


@pytest.fixture
def stops_after(monkeypatch):
    """Let the database take so many batches and no more."""

    def after(batches: int, error: Exception | None = None):
        store, taken = many.receive_many, []

        def limited(*args, **kwargs):
            if len(taken) == batches:
                raise error or OperationalError("database or disk is full")
            taken.append(1)
            return store(*args, **kwargs)

        monkeypatch.setattr(many, "receive_many", limited)
        return lambda: monkeypatch.setattr(many, "receive_many", store)

    return after


def sound(jobs: int) -> None:
    assert Job.objects.count() == jobs
    assert list(queries.ledger_faults()) == []
    assert not JobImport.objects.exclude(content=b"").exists(), "customers stand in the file"


def test_a_full_disk_stops_it_with_a_sentence_and_the_rest_follows(people, now, file, stops_after):
    room_again = stops_after(2)
    with pytest.raises(job_import.Interrupted, match=r"no room left.*6 of 10 rows are written"):
        job_import.import_csv(file(rows(10)), by=people.owner, at=now)
    assert Job.objects.count() == 6
    room_again()
    [sentence] = job_import.finish()
    assert sentence == (
        "The import of jobs.csv had stopped after 6 rows; it is finished now, with 10 rows."
    )
    sound(10)
    assert Job.objects.filter(reference__startswith="R").count() == 10
    assert Customer.objects.count() == 1, "one name at one address is one customer"
    assert job_import.finish() == []


def test_a_full_disk_before_the_first_row_leaves_nothing(people, now, file, monkeypatch):
    def full(**columns):
        raise OperationalError("database or disk is full")

    monkeypatch.setattr(JobImport.objects, "create", full)
    with pytest.raises(CommandError, match=r"no room left on the disk\. Nothing was recorded"):
        call_command("jobs", "import", str(file(rows(4))))
    assert not Job.objects.exists()


def test_the_worker_goes_on_with_what_nobody_is_at(people, now, file, stops_after, caplog):
    room_again = stops_after(1, OperationalError("database is locked"))
    with pytest.raises(job_import.Interrupted, match=r"busy with something else\. Of jobs\.csv"):
        job_import.import_csv(file(rows(7)), by=people.owner, at=now)
    later = timezone.now() + timedelta(minutes=2)
    finish = PERIODIC_TASKS["finish-imports"]
    assert finish(now=later) == 0
    assert "3 of 7 rows are written" in caplog.text
    room_again()
    assert finish(now=timezone.now()) == 0, "somebody may be at it"
    assert finish(now=later) == 4
    assert finish(now=later) == 0
    sound(7)


def test_the_worker_takes_some_at_a_time(people, now, file, stops_after, monkeypatch):
    monkeypatch.setattr(job_import, "_MOST_IN_A_ROUND", 3)
    room_again = stops_after(0)
    with pytest.raises(job_import.Interrupted):
        job_import.import_csv(file(rows(7)), by=people.owner, at=now)
    room_again()
    assert [
        job_import.finish_stalled(now=timezone.now() + timedelta(hours=n)) for n in (1, 2, 3, 4)
    ] == [3, 3, 1, 0]
    sound(7)


def test_the_next_import_first_finishes_the_one_before(people, now, file, stops_after, capsys):
    room_again = stops_after(1)
    with pytest.raises(CommandError, match=r"3 of 5 rows are\s+written"):
        call_command("jobs", "import", str(file(rows(5))))
    room_again()
    call_command("jobs", "import", str(file("make\nAlder\n")))
    said = capsys.readouterr().out
    assert "had stopped after 3 rows; it is finished now, with 5 rows." in said
    assert "1 row imported as 1 job." in said
    sound(6)


def test_two_that_finish_the_same_import_write_each_row_once(people, now, file, stops_after):
    room_again = stops_after(1)
    with pytest.raises(job_import.Interrupted):
        job_import.import_csv(file(rows(9)), by=people.owner, at=now)
    room_again()
    [first], [second] = job_import.unfinished(), job_import.unfinished()
    job_import._write(first, job_import.ImportResult(), job_import.silent)
    job_import._write(second, job_import.ImportResult(), job_import.silent)
    sound(9)


def test_what_came_in_at_the_counter_meanwhile_stops_nothing(people, now, file, stops_after):
    room_again = stops_after(1)
    with pytest.raises(job_import.Interrupted):
        job_import.import_csv(file(rows(7)), by=people.owner, at=now)
    room_again()
    bench = Bench(people.owner)
    here = bench.receive(make="Corvenby", model="Spool 1", serial="s104")
    other = bench.receive(make="Alder", reference="R5")
    _, *notes = job_import.finish()
    assert notes == [
        f"line 6: the unit came in meanwhile; the row was added to job {here}.",
        f"line 7: reference R5 was given to job {other} meanwhile.",
    ]
    sound(8)
    assert bench.job(here).complaint == "hums"
    assert LedgerRow.objects.filter(body__contains=f"Reference R5, as job {other}.").count() == 1


def test_one_brought_in_at_the_very_moment_is_met_again(people, now, file, monkeypatch):
    store, bench = many.receive_many, Bench(people.owner)

    def raced(*args, **kwargs):
        monkeypatch.setattr(many, "receive_many", store)
        bench.receive(make="Corvenby", model="Spool 0", serial="S-100")
        raise IntegrityError("unit_once")

    monkeypatch.setattr(many, "receive_many", raced)
    outcome = job_import.import_csv(file(rows(2)), by=people.owner, at=now)
    # The one at the counter fell with the transaction of the test; the rows went in.
    assert (outcome.errors, Job.objects.count()) == ([], 2)


def test_a_unit_that_was_here_before_brings_its_hazards_along(people, now, file):
    bench = Bench(people.owner)
    bench.by = people.technician
    first = bench.receive(make="Corvenby", model="Spool 0", serial="S-100")
    bench.record(first, "finding_recorded", finding="insulator-cracked")
    bench.clear(first, HAND_BACK)
    bench.stage(first, "withdrawn")
    outcome = job_import.import_csv(file(rows(1)), by=people.owner, at=now)
    job = Job.objects.exclude(pk=first).get()
    assert outcome.notes == []
    assert "not-cured" in job.ledger.get(sequence=1).data["carried"]


def test_rows_that_repeat_each_other_are_told_with_the_line_before(people, now, file):
    text = HEADER + "R1,A,B,S-12,x,,\nR1,C,D,S-13,x,,\nR2,a,b,s12,x,,\nR3,E,F,S-14,x,,no address\n"
    outcome = job_import.import_csv(file(text), by=people.owner, at=now)
    assert outcome.errors == [
        "line 3: reference 'R1' is on line 2 too.",
        "line 4: This unit is here already: line 2 has it.",
        "line 5: customer.email is 'no address'; write it like name@example.org.",
    ]
    assert not Job.objects.exists()
    assert not JobImport.objects.exists()


@pytest.mark.parametrize(
    "unit",
    [
        {"make": "Corvenby", "model": "Spool 3", "serial": "17", "complaint": "hums"},
        {"complaint": "clicks", "facts": {"unit.kind": "mixer", "unit.supply": "linear"}},
        {"make": "A", "facts": {"findings": ["fuse-blown"], "work": ["mains-wiring-changed"]}},
        {"make": "A", "facts": {"unit.rail_volts": 75.0}, "note": "from a list"},
    ],
)
def test_a_job_of_many_is_the_job_that_one_intake_opens(people, now, unit):
    texts = dict.fromkeys(("make", "model", "serial", "complaint", "reference", "note"), "")
    given = texts | unit
    one = intake_services.receive(by=people.owner, at=now, **given)
    kept = {"make": "Other"} if not given["serial"] else {"serial": "18"}
    line = many.line(
        2, by=people.owner, at=now, customer_name="", customer_email="", **(given | kept)
    )
    line.draft.settle()
    assert many.receive_many([line], by=people.owner, at=now) == []
    job = Job.objects.get(pk=line.draft.job.number)
    apart = {"number", "unit_id", "_state"}
    assert {k: v for k, v in vars(job).items() if k not in apart} == {
        k: v for k, v in vars(Job.objects.get(pk=one.pk)).items() if k not in apart
    }
    assert [row.event_type for row in queries.rows_of(job)] == [
        row.event_type for row in queries.rows_of(one)
    ]
    stays = StageVisit.objects.filter(job__in=(one, job)).values("stage", "kind", "entered_at")
    assert len(stays) == 2
    assert stays[0] == stays[1]
    assert list(queries.ledger_faults()) == []


@pytest.mark.parametrize("facts", [{}, {"unit.kind": "mixer"}, {"findings": ["fuse-blown"]}])
def test_what_is_alike_is_derived_once_and_is_what_each_would_derive(people, now, facts):
    """But for the words of people, of which nothing is derived."""
    summaries, kept = commands.Summaries(), transaction.KEPT_BY_EVERY_WRITE
    texts = {"serial": "", "reference": ""}

    def draft(words: str, **more):
        given = {"make": words, "model": words, "complaint": words, "note": words}
        return commands.draft(by=people.owner, at=now, facts=facts | more, **given, **texts)

    first, other = draft("hums"), draft("clicks, and then no sound at all")
    for one in (first, other):
        summaries.settle(one)
    apart = draft("clicks, and then no sound at all")
    apart.settle()
    assert {c: getattr(other.job, c) for c in kept} == {c: getattr(apart.job, c) for c in kept}
    unlike = draft("hums", **{"unit.supply": "linear"})
    summaries.settle(unlike)
    assert unlike.job.head == first.job.head + 1


def test_progress_is_shown_on_a_terminal_and_nowhere_else(people, file):
    class Terminal(io.StringIO):
        def isatty(self):
            return True

    seen, quiet = Terminal(), io.StringIO()
    call_command("jobs", "import", str(file(rows(4))), "--dry-run", stderr=quiet)
    assert quiet.getvalue() == ""
    call_command("jobs", "import", str(file(rows(4))), stderr=seen)
    said = seen.getvalue()
    assert "\r4 of 4 rows looked at" in said
    assert "\r3 of 4 rows written" in said
    assert said.endswith("\r4 of 4 rows written\n")
