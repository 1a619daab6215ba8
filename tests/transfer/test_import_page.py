"""A spreadsheet on pages: any head, CSV or XLSX written by another program, all rows or none."""

from __future__ import annotations

import io
import zipfile
from datetime import date, timedelta

import openpyxl
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from shop.jobs.models import Job
from shop.lib.refusals import BadInput
from shop.reminders import periodic
from shop.transfer import chosen_file, mapping
from shop.transfer.models import ColumnMapping, ImportDraft
from tests.factories import JobFactory

pytestmark = pytest.mark.django_db

HEAD = ["Hersteller", "Typ", "Fehler", "Baujahr", "Farbe"]
ROWS = [
    ["Quellton", "Tarn 4", "brummt, dann still", 1987, "silber"],
    ["Ravelnd", "Thatch 30", "=kratzt", 1991, "schwarz"],
]
CHOSEN = ["make", "model", "problem", "year", ""]


def xlsx(head=HEAD, rows=ROWS):
    book = openpyxl.Workbook()
    for row in [head, *rows]:
        book.active.append(row)
    for cell in (cell for cells in book.active.iter_rows() for cell in cells):
        cell.data_type = "s" if cell.data_type == "f" else cell.data_type
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def csv_with(delimiter, head=HEAD, rows=ROWS):
    quoted = [[f'"{cell}"' for cell in row] for row in [head, *rows]]
    return "\r\n".join(delimiter.join(row) for row in quoted).encode("utf-8-sig")


@pytest.fixture
def desk(client, people):
    client.force_login(people.desk)
    return client


def send(client, content, name="units.xlsx"):
    return client.post("/import/", {"file": SimpleUploadedFile(name, content)})


FILES = {"xlsx": xlsx(), **{f"csv {d!r}": csv_with(d) for d in (",", ";", "\t")}}


@pytest.mark.parametrize("content", FILES.values(), ids=FILES)
def test_from_file_to_jobs(desk, content):
    columns = send(desk, content)
    page = desk.get(columns["Location"]).content.decode()
    assert "Hersteller" in page
    assert "brummt, dann still" in page
    rows = desk.post(columns["Location"], {"column": CHOSEN})
    page = desk.get(rows["Location"]).content.decode()
    assert "Every row is good" in page
    assert not Job.objects.exists(), "a look writes nothing"
    assert desk.post(rows["Location"]).status_code == 302
    units = sorted(str(job.unit) for job in Job.objects.all())
    assert units == ["Quellton Tarn 4", "Ravelnd Thatch 30"]
    assert sorted(job.complaint for job in Job.objects.all()) == ["=kratzt", "brummt, dann still"]
    assert not ImportDraft.objects.exists()


def test_the_choice_is_remembered_by_the_head(desk):
    first = send(desk, xlsx())["Location"]
    desk.post(first, {"column": CHOSEN})
    desk.post(f"{first}rows/")
    again = send(desk, csv_with(";", [name.upper() for name in HEAD]), "other.csv")["Location"]
    assert ImportDraft.objects.get().mapping == CHOSEN
    assert desk.get(again).content.decode().count(" selected") == 4
    other = send(desk, csv_with(",", ["A", "B", "C", "D", "E"]))
    assert ImportDraft.objects.latest("pk").mapping == [""] * 5
    assert other.status_code == 302


def test_our_own_names_are_guessed():
    guessed = mapping._guess(["ID", "Make", "owner_name", "make", "x"])
    assert guessed == ["reference", "make", "customer_name", "", ""]


def test_every_fault_is_told_and_nothing_is_imported(desk):
    JobFactory(make="Quellton", model="Tarn 4", serial="7")
    head = ["make", "model", "serial", "year"]
    rows = [["Quellton", "Tarn 4", "7", 1987], ["A", "B", "1", "soon"], ["A", "C", "2", 1990]]
    path = send(desk, xlsx(head, rows))["Location"]
    desk.post(path, {"column": head})
    answer = desk.post(f"{path}rows/")
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "line 2: This unit is here already" in page
    assert "line 3: " in page
    assert Job.objects.count() == 1
    assert ImportDraft.objects.exists(), "the columns can be chosen anew"


@pytest.mark.parametrize(
    ("chosen", "sentence"),
    [
        (["make", "make", "", "", ""], "make is chosen for two columns"),
        (["", "", "", "", ""], "All columns are left out"),
        (["make", "nonsense", "", "", ""], "is not known"),
        (["make"], "Choose for every column"),
    ],
)
def test_a_choice_that_cannot_be(desk, chosen, sentence):
    path = send(desk, xlsx())["Location"]
    answer = desk.post(path, {"column": chosen})
    assert answer.status_code == 422
    assert sentence in answer.content.decode()


def bomb():
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", b"0" * (chosen_file.MOST_UNPACKED + 1))
    return file.getvalue()


BAD = {
    "empty": (b" ", "is empty"),
    "only a head": (b"make,model\r\n", "no rows"),
    "no text": (b"make\n\xff\xfe", "not UTF-8"),
    "unreadable": (b'make\n"a"b"\n', "not readable"),
    "too many cells": (b"make\na,b\n", "row 2 has more cells"),
    "no workbook": (b"PK\x03\x04 and nothing", "cannot be read as XLSX"),
    "cut": (xlsx()[:-200], "cannot be read as XLSX"),
    "a bomb": (bomb(), "unpacks to more than 64 MB"),
    "too many rows": (b"make\n" + b"a\n" * 2001, "more than 2.000 rows"),
    "too many columns": (",".join("x" * 101).encode() + b"\n", "more than 100 columns"),
}


@pytest.mark.parametrize(("content", "sentence"), BAD.values(), ids=BAD)
def test_what_is_no_spreadsheet_is_refused_with_a_sentence(desk, content, sentence):
    with pytest.raises(BadInput, match=sentence):
        chosen_file.read("units", content)
    answer = send(desk, content, "units")
    assert answer.status_code == 422
    assert not ImportDraft.objects.exists()


def test_no_file_is_told(desk):
    answer = desk.post("/import/", {})
    assert answer.status_code == 422
    assert "No file was chosen." in answer.content.decode()


def test_cells_come_as_somebody_would_type_them():
    head = ["make", "year", "unit.rail_volts", "status", "country"]
    rows = [["M", 1987.0, 42.5, True, date(2026, 3, 2)], [None] * 5]
    typed = ["M", "1987", "42.5", "yes", "2026-03-02"]
    assert chosen_file.read("x", xlsx(head, rows)) == (head, [typed])


def test_pressed_twice_it_comes_in_once(desk):
    path = send(desk, xlsx())["Location"]
    desk.post(path, {"column": CHOSEN})
    assert desk.post(f"{path}rows/").status_code == 302
    assert desk.post(f"{path}rows/").status_code == 404
    assert Job.objects.count() == 2


def test_it_is_of_who_sent_it_alone(desk, client, people):
    path = send(desk, xlsx())["Location"]
    client.force_login(people.owner)
    for address in (path, f"{path}rows/"):
        assert client.get(address).status_code == 404
        assert client.post(address).status_code == 404
    client.force_login(people.technician)
    for address in ("/import/", path, f"{path}rows/"):
        assert client.get(address).status_code == 403
        assert client.post(address).status_code == 403
    client.logout()
    assert client.get(path)["Location"].startswith("/sign-in/")


def test_a_file_that_nobody_imports_goes_after_a_day(desk):
    send(desk, xlsx())
    periodic.run("finish-imports")
    assert ImportDraft.objects.exists()
    ImportDraft.objects.update(made_at=timezone.now() - timedelta(days=1, minutes=1))
    periodic.run("finish-imports")
    assert not ImportDraft.objects.exists()
    assert not ColumnMapping.objects.exists()
