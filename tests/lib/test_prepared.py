from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from threading import Thread

import pytest
from django.db import connection
from django.db.models import Count, F, Max

from shop.jobs import queries
from shop.jobs.models import Job, LedgerRow
from shop.lib.prepared import Prepared, PreparedRows
from shop.lib.prepared_writes import change, insert
from shop.reminders.models import Reminder
from shop.webhooks.models import Endpoint

pytestmark = pytest.mark.django_db


def _columns(job: Job) -> dict[str, object]:
    return {name: value for name, value in vars(job).items() if name not in ("_state", "twins")}


def test_it_returns_what_the_query_itself_returns(job, now):
    prepared = Prepared(
        lambda pk, at: queries.jobs(at).filter(pk=pk), int, datetime, **queries.WITH_UNIT
    )
    for moment in (now, now + timedelta(days=400), now.astimezone(UTC)):
        [found], [plain] = prepared(job, moment), queries.jobs(moment).filter(pk=job)
        assert _columns(found) == _columns(plain)
        assert _columns(found.unit) == _columns(plain.unit)
    assert {row.waiting for row in prepared(job, now + timedelta(days=400))} == {"nobody"}


def test_other_values_find_other_rows_and_the_unit_is_read_with_them(
    bench, django_assert_num_queries
):
    first, second = bench.receive(make="First"), bench.receive(make="Second")
    prepared = Prepared(lambda pk: Job.objects.filter(pk=pk), int, related=["unit"])
    prepared.first(first)
    with django_assert_num_queries(2):
        assert [prepared.first(each).unit.make for each in (second, first)] == [
            "Second",
            "First",
        ]
    assert prepared.first(second + 1) is None


def test_what_hangs_on_what_hangs_on_it_is_read_along(bench, now, django_assert_num_queries):
    number = bench.receive(make="Corvenby")
    with_somebody = Reminder.objects.create(job_id=number, dedup_key="a", sentence="x", made_at=now)
    on_nobody = bench.receive()
    Job.objects.filter(pk=on_nobody).update(technician=None)
    Reminder.objects.create(job_id=on_nobody, dedup_key="b", sentence="y", made_at=now)
    Job.objects.filter(pk=number).update(technician=bench.by)
    prepared = Prepared(
        lambda least: Reminder.objects.filter(pk__gte=least).order_by("pk"),
        int,
        related=["job", "job__unit", "job__technician"],
    )
    prepared(0)
    with django_assert_num_queries(1):
        first, second = prepared(with_somebody.pk)
        assert first.job.unit.make == "Corvenby"
        assert (first.job.technician, second.job.technician) == (bench.by, None)
        assert first.job.technician.date_joined == bench.by.date_joined
    plain = Reminder.objects.get(pk=with_somebody.pk)
    assert {k: v for k, v in vars(first).items() if k != "_state"} == {
        k: v for k, v in vars(plain).items() if k != "_state"
    }
    first.job.save()  # as one that the ORM read
    assert Job.objects.get(pk=number).version == first.job.version


def test_a_type_of_column_that_nobody_taught_it_is_an_error(db):
    prepared = PreparedRows(lambda pk: Endpoint.objects.filter(pk=pk), int, columns=["events"])
    with pytest.raises(ValueError, match="cannot be read by a prepared query"):
        prepared(1)


def test_rows_have_columns_of_others_and_what_was_counted_as_the_query_itself_gives_them(bench):
    for make in ("A", "B", "B"):
        bench.receive(make=make)
    by_make = Job.objects.order_by("unit__make").values("unit__make")
    counted = by_make.annotate(jobs=Count("pk"), last=Max("received_at"))
    columns = ["unit__make", "jobs", "last"]
    found = PreparedRows(lambda: counted, columns=columns)()
    assert [tuple(row) for row in found] == list(counted.values_list(*columns))
    assert [row[1] for row in found] == [1, 2]


@pytest.mark.parametrize("number", [0, -1, 2**63, -(2**70), 10**30])
def test_a_number_that_no_column_holds_finds_nothing(job, number):
    prepared = Prepared(lambda pk: Job.objects.filter(pk=pk), int)
    assert prepared.first(number) is None


def test_values_tuples_dates_and_a_value_that_stands_twice(job):
    day = PreparedRows(
        lambda on, pk: Job.objects.filter(promised_on__gt=on, pk=pk).exclude(head=F("head") + pk),
        date,
        int,
        columns=["promised_on", "number", "unit__make", "unplug_due", "received_at"],
    )
    Job.objects.filter(pk=job).update(promised_on=date(2026, 5, 4), version=F("version"))
    plain = Job.objects.get(pk=job)
    [row] = day(date(2026, 5, 3), job)
    assert list(row) == [date(2026, 5, 4), job, plain.unit.make, False, plain.received_at]
    assert row[3] is False
    assert row[4].tzinfo is plain.received_at.tzinfo
    assert day(date(2026, 5, 4), job) == []


@pytest.mark.parametrize("make", ["Corvenby", "", "100 %s", "it's", "no such make"])
def test_a_text_is_a_value_too(bench, make):
    bench.receive(make=make)
    prepared = PreparedRows(
        lambda make: Job.objects.filter(unit__make=make), str, columns=["number"]
    )
    plain = Job.objects.filter(unit__make=make).values_list("number")
    assert prepared("another") == []
    assert [tuple(row) for row in prepared(make)] == list(plain)


def test_a_value_that_the_query_does_not_hold_is_an_error(job):
    prepared = Prepared(lambda pk: Job.objects.all(), int)
    with pytest.raises(ValueError, match="nowhere in it"):
        prepared(job)


def test_an_inserted_row_is_the_row_that_save_would_have_written(job, now):
    last = LedgerRow.objects.filter(job=job).last()
    values = {"job_id": job, "event_type": "x", "at": now, "by_name": "ü 你", "body": '{"a": "%s"}'}
    LedgerRow.objects.bulk_create([LedgerRow(sequence=last.sequence + 1, **values)])
    insert(LedgerRow(sequence=last.sequence + 2, **values))
    saved, inserted = LedgerRow.objects.filter(job=job, event_type="x").order_by("sequence")
    same = [field.attname for field in LedgerRow._meta.concrete_fields][3:]
    assert [getattr(saved, name) for name in same] == [getattr(inserted, name) for name in same]


@pytest.mark.django_db(transaction=True)
def test_threads_share_the_text_and_not_the_connection(bench):
    jobs = [bench.receive() for _ in range(4)]
    prepared = Prepared(lambda pk: Job.objects.filter(pk=pk), int)
    found: dict[int, list[int]] = {}

    def ask(number: int) -> None:
        try:
            found[number] = [prepared.first(number).number for _ in range(50)]
        finally:
            connection.close()

    threads = [Thread(target=ask, args=(job,)) for job in jobs]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert found == {job: [job] * 50 for job in jobs}


def test_a_change_stores_what_the_orm_stores_and_says_how_many_rows_it_found(bench, now):
    first, second = bench.receive(), bench.receive()
    values = {"promised_on": date(2026, 4, 1), "due_at": now, "technician_id": None, "head": 9}
    Job.objects.filter(pk=first).update(**values)
    where = {"number": second, "version": Job.objects.get(pk=second).version}
    assert change(Job, values, where, using="default") == 1
    assert change(Job, values, {**where, "version": 99}, using="default") == 0
    by_orm, by_change = (Job.objects.filter(pk=pk).values(*values).get() for pk in (first, second))
    assert by_change == by_orm
