from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command

from checklists.engine.figures import grouped
from shop.jobs.models import Job, LedgerRow, Unit
from shop.lib.refusals import BadInput, Forbidden
from shop.transfer import job_import, spreadsheet
from tests.helpers import Bench

SAMPLE = Path(settings.ROOT).parent / "shared" / "data" / "open-repair-sample.csv"


@pytest.fixture
def load(people, tmp_path, now):
    def load(text: str | bytes, *, dry_run: bool = False, by=None):
        file = tmp_path / "jobs.csv"
        file.write_bytes(text if isinstance(text, bytes) else text.encode())
        return job_import.import_csv(file, by=by or people.owner, at=now, dry_run=dry_run)

    return load


def nothing_was_kept():
    return not Job.objects.exists() and not Unit.objects.exists()


def test_rows_become_jobs_with_derived_checklists(load, people):
    outcome = load(
        "reference,make,model,serial,year,problem,unit.supply,complaint.symptoms,customer_name\n"
        'A1,Corvenby,Spool 3,17,1987,"stops, then hums",linear,mechanical hum,Tobias\n'
    )

    assert (outcome.rows, outcome.errors) == (1, [])
    job = Job.objects.get(pk=outcome.numbers[0])
    facts = Bench(people.owner).traveller(job.number).record.facts
    assert facts["unit.year"] == 1987
    assert facts["complaint.symptoms"] == ["mechanical", "hum"]
    assert job.complaint == "stops, then hums"
    assert job.intake.customer.name == "Tobias"
    checklist = Bench(people.owner).traveller(job.number).checklist
    assert "discharge-reservoirs" in checklist.by_key, "the rail is unknown"
    assert "hot-chassis" not in checklist.by_key, "the supply is known"


def test_a_unit_that_is_here_is_a_fault_of_its_row_and_nothing_is_kept(load, people):
    here = Bench(people.owner).receive(make="Corvenby", model="Spool 3", serial="K-1")
    outcome = load(
        "make,model,serial,problem\nA,B,1,fine\nCorvenby,spool 3,k1,hums\n,,,\nA,b,1,again\n"
    )
    assert len(outcome.errors) == 3
    assert outcome.errors[0].startswith(f"line 3: This unit is here already: job {here} is open.")
    assert outcome.errors[1].startswith("line 4: make, model")
    assert outcome.errors[2].startswith("line 5: This unit is here already")
    assert list(Job.objects.values_list("pk", flat=True)) == [here]


def test_a_dry_run_keeps_nothing_and_says_what_it_would_do(load):
    outcome = load("make,problem\nA,hums\nB,clicks\n", dry_run=True)
    assert (outcome.rows, outcome.numbers, outcome.errors) == (2, [], [])
    assert nothing_was_kept()


def test_one_bad_row_keeps_everything_out_and_every_bad_row_is_told(load):
    outcome = load(
        "make,year,unit.kind,problem\n"
        "A,1987,mixer,fine\n"
        "B,old,mixer,bad year\n"
        "C,1990,toaster,bad kind\n"
        ",,,\n"
    )

    assert outcome.numbers == []
    assert [error.split(":")[0] for error in outcome.errors] == ["line 3", "line 4", "line 5"]
    assert "unit.year is 'old'; it must be a whole number" in outcome.errors[0]
    assert "unit.kind is 'toaster'; it must be one of" in outcome.errors[1]
    assert "all empty" in outcome.errors[2]
    assert nothing_was_kept()


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "The file is empty"),
        ("make,colour\nA,red\n", "column 'colour' is not known"),
        ("make,make\nA,B\n", "column make is there twice"),
        ("id,reference\n1,2\n", "column reference is there twice"),
        ("job.power,make\nfull,A\n", "column 'job.power' is not known"),
        (b"make\n\xff\xfe\n", "is not UTF-8 text"),
        ('make,problem\nA,"never closed\n', "not readable as CSV"),
        ("make\nA\x00B\n", "control character"),
    ],
)
def test_a_broken_file_is_refused_with_a_sentence(load, text, sentence):
    try:
        outcome = load(text)
    except BadInput as error:
        errors = str(error)
    else:
        errors = " ".join(outcome.errors)
    assert sentence in errors
    assert nothing_was_kept()


def test_a_row_with_too_many_cells_is_told(load):
    outcome = load("make,problem\nA,hums, a lot\n")
    assert "more cells than columns" in outcome.errors[0]
    assert nothing_was_kept()


def test_a_row_with_too_few_cells_leaves_the_rest_unknown(load):
    outcome = load("make,problem,unit.supply\nA,hums\n")
    assert outcome.errors == []
    assert "unit.supply" not in Bench(None).traveller(outcome.numbers[0]).record.facts


def test_a_cell_of_ten_megabytes_gets_a_sentence(load):
    outcome = load("make,problem\nA," + "x" * 10_000_000 + "\n")
    assert outcome.errors == [
        "line 2: complaint has 10\u202f000\u202f000 characters; at most 20\u202f000 are kept."
    ]


SCRIPTS = [
    "brummt ständig",
    "гудит",
    "嗡嗡作响",
    "うなる",
    "يطنّ",
    "βουίζει",
    "=1+1",
    "+49",
    "-",
    "@x",
]


def test_text_of_any_script_and_formula_like_cells_are_kept_word_for_word(load):
    file = io.StringIO()
    writer = csv.writer(file)
    writer.writerow(["make", "problem"])
    writer.writerows([["M", words] for words in SCRIPTS])

    outcome = load("\ufeff" + file.getvalue())

    complaints = [Job.objects.get(pk=number).complaint for number in outcome.numbers]
    assert complaints == SCRIPTS


def test_importing_a_file_twice_is_refused(load):
    text = "id,make\nX1,A\nX2,B\n"
    first = load(text)
    again = load(text)
    assert len(again.errors) == 2
    assert f"is already job {first.numbers[0]}" in again.errors[0]
    assert Job.objects.count() == 2


@pytest.mark.parametrize("role", ["technician", "viewer", "nobody"])
def test_importing_is_for_owner_and_desk(load, people, role):
    with pytest.raises(Forbidden):
        load("make\nA\n", by=people.named(role))
    assert load("make\nA\n", by=people.desk).errors == []


def test_a_file_that_is_not_there_or_too_long_is_refused(people, now, tmp_path, monkeypatch):
    with pytest.raises(BadInput, match="cannot be read"):
        job_import.import_csv(tmp_path / "none.csv", by=people.owner, at=now)
    file = tmp_path / "long.csv"
    file.write_text("make\nA\nB\nC\n")
    monkeypatch.setattr(spreadsheet, "MOST_ROWS", 2)
    with pytest.raises(BadInput, match="more than 2 rows"):
        job_import.import_csv(file, by=people.owner, at=now)
    monkeypatch.setattr(spreadsheet, "LARGEST_FILE", 5)
    with pytest.raises(BadInput, match="larger than"):
        job_import.import_csv(file, by=people.owner, at=now)
    assert nothing_was_kept()


@pytest.mark.slow
@pytest.mark.skipif(not SAMPLE.exists(), reason="the sample of real records is not here")
def test_1800_real_records_go_in_and_open_with_careful_checklists(people, capsys):
    call_command("jobs", "import", str(SAMPLE), "--dry-run")
    assert nothing_was_kept()
    call_command("jobs", "import", str(SAMPLE))
    assert f"{grouped(1800)} rows imported as {grouped(1800)} jobs." in capsys.readouterr().out

    assert Job.objects.count() == 1800
    with SAMPLE.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    bench = Bench(people.owner)
    for row in rows[::60]:
        job = Job.objects.get(reference=row["id"])
        assert job.complaint == row["problem"].strip()
        assert job.unit.model == row["category"]
        assert job.next_title == "Ask: comes and goes?"
        checklist = bench.traveller(job.number).checklist
        assert "unit.supply" in checklist.missing_facts
        assert {"hot-chassis", "discharge-reservoirs", "touch-current"} <= set(checklist.by_key)
    assert LedgerRow.objects.filter(event_type="note_added").count() == 1800
    with pytest.raises(CommandError, match=f"{grouped(1800)} faults in {grouped(1800)} rows"):
        call_command("jobs", "import", str(SAMPLE), stderr=io.StringIO())
