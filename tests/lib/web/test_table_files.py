"""Every table as a file: read back by the csv module and by openpyxl, not by what wrote it."""

from __future__ import annotations

import csv
import io
from datetime import UTC, datetime

import openpyxl
import pytest
from django.utils import timezone

from shop.accounts.models import SignIn
from shop.customers.models import Customer
from shop.lib.web import table_files
from shop.parts import stock
from shop.parts.models import Supplier
from tests.factories import JobFactory, PartFactory

pytestmark = pytest.mark.django_db
# The start of a cell that a spreadsheet runs: OWASP, CSV injection.
FORMULAS = ("=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1")


def as_csv(answer):
    assert answer.status_code == 200, answer.content.decode()
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    return list(csv.reader(io.StringIO(answer.content.decode("utf-8-sig"), newline="")))


def as_xlsx(answer):
    assert answer.status_code == 200, answer.content.decode()
    sheet = openpyxl.load_workbook(io.BytesIO(answer.content)).active
    assert {cell.data_type for row in sheet.rows for cell in row} & {"f", "e"} == set()
    return [[cell.value for cell in row] for row in sheet.rows]


@pytest.fixture
def owner(client, people):
    client.force_login(people.owner)
    return client


def test_formulas_are_harmless_and_stay_readable(owner):
    for words in FORMULAS:
        Supplier.objects.create(name=words)
    for rows in (
        as_csv(owner.get("/suppliers/?export=csv")),
        as_xlsx(owner.get("/suppliers/?export=xlsx")),
    ):
        names = [row[0] for row in rows[1:]]
        assert len(names) == len(FORMULAS)
        assert all(name.startswith("'") for name in names)
        assert "'=1+1" in names


def test_numbers_stay_numbers_below_zero_too(owner, people):
    part, actor = PartFactory(), stock.StockActor(people.owner, timezone.now())
    row = stock.put_in(part, stock.get_or_create_bin("A 1"), 5, "bought", actor)
    stock.take_out(row.pk, 2, "used", actor)
    rows = as_xlsx(owner.get(f"/parts/{part.pk}/?export=xlsx"))
    at = rows[0].index("Pieces")
    assert [line[at] for line in rows[1:]] == [-2, 5]
    rows = as_csv(owner.get(f"/parts/{part.pk}/?export=csv"))
    assert [line[at] for line in rows[1:]] == ["-2", "5"]


def test_money_is_exact(owner):
    Supplier.objects.create(name="North Parts", postage="4.90", minimum="0.10")
    rows = as_xlsx(owner.get("/suppliers/?export=xlsx"))
    assert rows[1][:2] == ["North Parts", 4.9]
    assert as_csv(owner.get("/suppliers/?export=csv"))[1][:2] == ["North Parts", "4.90"]


def test_a_moment_says_its_zone(owner, people, settings):
    settings.SHOP_TIME_ZONE = "Europe/Berlin"
    SignIn.objects.all().delete()
    # The hour that comes twice when the clocks go back.
    for minute in (
        datetime(2026, 10, 25, 0, 30, tzinfo=UTC),
        datetime(2026, 10, 25, 1, 30, tzinfo=UTC),
    ):
        SignIn.objects.create(person=people.owner, name="owner", what=SignIn.IN, at=minute)
    rows = as_csv(owner.get("/account/sign-ins/?export=csv"))
    assert rows[0][0] == "At (Europe/Berlin)"
    assert [row[0] for row in rows[1:]] == [
        "2026-10-25 02:30:00+01:00",
        "2026-10-25 02:30:00+02:00",
    ]
    rows = as_xlsx(owner.get("/account/sign-ins/?export=xlsx"))
    assert rows[0][0] == "At (Europe/Berlin)"
    assert rows[1][0] == datetime.fromisoformat("2026-10-25 02:30")


def test_the_file_has_what_the_page_shows(owner):
    for make in ("Quellton", "Ravelnd"):
        JobFactory(make=make)
    everything = as_csv(owner.get("/jobs/?export=csv"))
    assert len(everything) == 3
    assert everything[0][-1].startswith("In this stage since (")
    assert as_csv(owner.get("/jobs/?export=csv&stage=released"))[1:] == []
    up, down = (
        [row[0] for row in as_csv(owner.get(f"/jobs/?export=csv&sort={sort}number"))[1:]]
        for sort in ("", "-")
    )
    assert up == down[::-1] != down


def test_all_pages_of_a_table_are_in_it(owner):
    for number in range(45):
        PartFactory(spec=f"resistor {number:03}")
    assert len(as_csv(owner.get("/parts/?export=csv&page=2"))) == 46


def test_six_scripts_come_through(owner):
    names = ["Grün & Söhne", "Кузнецов", "Παπαδόπουλος", "山田電機", "김민수", "سارة"]
    for name in names:
        Customer.objects.create(name=name)
    assert sorted(r[0] for r in as_csv(owner.get("/customers/?export=csv"))[1:]) == sorted(names)
    assert sorted(r[0] for r in as_xlsx(owner.get("/customers/?export=xlsx"))[1:]) == sorted(names)


def test_what_xml_cannot_hold_is_left_out(owner):
    Supplier.objects.create(name="bell\x07 and \x0b tab")
    assert as_xlsx(owner.get("/suppliers/?export=xlsx"))[1][0] == "bell and  tab"


def test_too_many_rows_are_refused_with_a_sentence(owner, monkeypatch):
    monkeypatch.setattr(table_files, "MOST_ROWS", 1)
    for name in ("one", "two"):
        Supplier.objects.create(name=name)
    answer = owner.get("/suppliers/?export=xlsx")
    assert answer.status_code == 422
    assert "at most 1 rows" in answer.content.decode()


def test_an_unknown_format_is_the_page(owner):
    Supplier.objects.create(name="one")
    assert "<h1>Suppliers</h1>" in owner.get("/suppliers/?export=exe").content.decode()


def test_who_may_not_see_the_table_gets_no_file(client, people):
    client.force_login(people.technician)
    assert client.get("/account/sign-ins/?export=csv").status_code == 403
    client.force_login(people.viewer)
    assert client.get("/customers/?export=csv").status_code == 403


class TestFilters:
    def test_stay_in_the_address_of_files_and_pages(self, owner):
        Supplier.objects.create(name="North Parts")
        Supplier.objects.create(name="South Parts")
        page = owner.get("/suppliers/?q=north").content.decode()
        assert "North Parts" in page
        assert "South Parts" not in page
        assert 'value="north"' in page
        assert "?q=north&amp;export=csv" in page

    def test_parts_by_what_is_in_stock(self, owner, people):
        here, _gone = PartFactory(spec="relay"), PartFactory(spec="fuse")
        actor = stock.StockActor(people.owner, timezone.now())
        stock.put_in(here, stock.get_or_create_bin("A 1"), 5, "bought", actor)
        page = owner.get("/parts/?stock=stock").content.decode()
        assert "relay" in page
        assert "fuse" not in page
        assert "relay" not in owner.get("/parts/?stock=none").content.decode()

    def test_sign_ins_by_the_days_of_the_shop(self, owner, people, settings):
        settings.SHOP_TIME_ZONE = "Europe/Berlin"
        # Past midnight in Berlin, the day before in UTC.
        late = datetime(2026, 6, 30, 22, 30, tzinfo=UTC)
        SignIn.objects.create(name="latecomer", what=SignIn.REFUSED, at=late)
        listed = "/account/sign-ins/?since=2026-07-01&until=2026-07-01"
        assert "latecomer" in owner.get(listed).content.decode()
        assert "latecomer" not in owner.get("/account/sign-ins/?until=2026-06-30").content.decode()

    def test_a_day_that_is_none_gets_a_sentence(self, owner):
        page = owner.get("/account/sign-ins/?since=yesterday").content.decode()
        assert "Enter a valid date." in page

    def test_customers_with_a_unit_here(self, owner):
        JobFactory(customer_name="Ada Here")
        Customer.objects.create(name="Bo Gone")
        page = owner.get("/customers/?here=yes").content.decode()
        assert "Ada Here" in page
        assert "Bo Gone" not in page
