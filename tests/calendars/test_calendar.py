"""The calendar: what stands in it, what does not, and what opens it.

It is read back by a reader of our own after RFC 5545. vobject 0.9.9 read the same of it, tried by
hand.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from shop.calendars import days, feed, services
from shop.calendars.days import Entry
from shop.calendars.models import CalendarAddress
from shop.customers.announced import services as announcing
from shop.customers.models import Customer
from shop.lib.web.request_log import hidden
from shop.messages.models import Message
from shop.parts.models import Order
from tests.calendars.reading import faults, read
from tests.factories import SupplierFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def token(people, now):
    return services.renew(people.technician, at=now)


def got(token, client=None):
    return (client or Client()).get(f"/calendar/{token}.ics")


def events_of(token):
    answer = got(token)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert faults(answer.content) == []
    return {event["SUMMARY"]: event for event in read(answer.content)[1]}


class TestWhatStandsInIt:
    def test_a_promised_day_is_a_day(self, bench, job, token):
        bench.record(job, "promise_made", on="2031-03-02")
        [(title, event)] = events_of(token).items()
        assert title == f"Promised: {bench.job(job)}"
        assert (event["DTSTART"], event["DTEND"]) == ("20310302", "20310303")
        assert event["URL"].endswith(f"/jobs/{job}/")

    def test_a_soak_ends_and_is_read(self, bench, job, token):
        bench.open_up(job)
        bench.to_soak(job)
        bench.record(job, "soak_started")
        events = events_of(token)
        soak = bench.traveller(job).record.soak_run
        end = events[f"Soak ends: {bench.job(job)}"]
        assert datetime.strptime(end["DTSTART"], "%Y%m%dT%H%M%S%z") > soak.started_at
        assert f"Soak reading due: {bench.job(job)}" in events
        bench.power(job, "isolated")
        assert not [title for title in events_of(token) if "Soak" in title]

    def test_a_parcel_until_the_order_is_closed(self, people, token, now):
        supplier = SupplierFactory(name="North, Parts; Ltd")
        order = Order.objects.create(
            supplier=supplier, placed_at=now, placed_by=people.owner, expected_on=date(2031, 3, 2)
        )
        assert f"Parcel expected: {order}" in events_of(token)
        Order.objects.update(closed_at=now)
        assert events_of(token) == {}

    def announce(self, people, now, **given):
        said = {"make": "Corvenby", "model": "C 4", "name": "Ada Lovelock"} | given
        return announcing.announce(said, by=people.desk, at=now)

    def test_a_unit_on_its_way_by_its_day_until_it_is_here(self, people, token, now):
        day = now.date() + timedelta(days=9)
        row = self.announce(people, now, expected_on=day)
        [(title, event)] = events_of(token).items()
        assert (title, event["DTSTART"]) == ("Unit expected: Corvenby C 4", f"{day:%Y%m%d}")
        assert event["URL"].endswith(f"/announced/{row.pk}/")
        announcing.drop(row.pk, by=people.desk)
        assert events_of(token) == {}

    def test_a_unit_with_a_number_alone_on_the_next_day_that_is_open(
        self, people, token, now, settings
    ):
        settings.WORKDAYS = frozenset({0})
        self.announce(people, now, carrier="Lark Parcels", tracking="0000 1111")
        [event] = events_of(token).values()
        assert datetime.strptime(event["DTSTART"], "%Y%m%d").replace(tzinfo=UTC).weekday() == 0
        assert "1111" not in got(token).content.decode()

    def test_a_unit_of_which_nobody_knows_when_is_no_entry(self, people, token, now):
        self.announce(people, now)
        assert events_of(token) == {}

    def test_who_may_not_take_in_is_told_of_no_arrivals(self, people, now):
        self.announce(people, now, expected_on=now.date() + timedelta(days=9))
        assert events_of(services.renew(people.viewer, at=now)) == {}

    def test_a_call_stands_on_the_next_day_that_is_open(self, job, token, now, settings):
        settings.WORKDAYS = frozenset({0})
        customer = Customer.objects.create(name="Ada Lovelock", phone="+44 20 7946 0101")
        waiting = {"send_after": now, "written_at": now, "way": Message.HAND}
        message = Message.objects.create(job_id=job, customer=customer, key="ready", **waiting)
        [(title, event)] = events_of(token).items()
        assert title.startswith("Call the customer: Job")
        assert datetime.strptime(event["DTSTART"], "%Y%m%d").replace(tzinfo=UTC).weekday() == 0
        message.sent_at = now
        message.save()
        assert events_of(token) == {}

    def test_no_customer_is_in_it(self, job, bench, people, token, now):
        customer = Customer.objects.create(name="Ada Lovelock", phone="+44 20 7946 0101")
        waiting = {"send_after": now, "written_at": now, "way": Message.HAND}
        Message.objects.create(
            job_id=job, customer=customer, key="ready", text="Dear Ada", **waiting
        )
        bench.record(job, "promise_made", on="2031-03-02")
        self.announce(people, now, make="", model="", serial="Q-1", tracking="0000 1111")
        whole = got(token).content.decode()
        assert len(read(whole.encode())[1]) == 3
        for private in ("Ada", "Lovelock", "7946", bench.job(job).complaint):
            assert private not in whole

    def test_a_viewer_is_told_of_no_calls(self, people, job, now):
        customer = Customer.objects.create(name="Ada")
        waiting = {"send_after": now, "written_at": now, "way": Message.HAND}
        Message.objects.create(job_id=job, customer=customer, key="ready", **waiting)
        assert events_of(services.renew(people.viewer, at=now)) == {}


def test_long_and_strange_titles_by_every_reader(now):
    """Folding counts octets, and no script, comma or line break changes what is read."""
    titles = [
        "Parcel expected: Order 3 from Größe, Söhne; \\ Co",
        "Promised: " + "山田電機 " * 30,
        "Soak ends: سارة, Кузнецов; Παπαδόπουλος 김민수",
        "two\nlines",
    ]
    entries = [
        Entry(key=f"k-{n}", when=date(2031, 3, n + 1), title=title, path="/jobs/1/")
        for n, title in enumerate(titles)
    ]
    content = feed.written(entries, now=now)
    assert faults(content) == []
    assert [event["SUMMARY"] for event in read(content)[1]] == titles


def test_a_moment_is_the_same_in_the_night_that_the_clocks_change(now):
    # 25 October 2026, 02:30 comes twice in Berlin: the moments are an hour apart.
    first = datetime(2026, 10, 25, 0, 30, tzinfo=UTC)
    moments = [first, first + timedelta(hours=1)]
    with timezone.override("Europe/Berlin"):
        entries = [
            Entry(key=f"k{n}", when=timezone.localtime(when), title="x", path="/")
            for n, when in enumerate(moments)
        ]
        written = [event["DTSTART"] for event in read(feed.written(entries, now=now))[1]]
    assert written == ["20261025T003000Z", "20261025T013000Z"]


def test_an_empty_calendar_is_one(now):
    assert faults(feed.written([], now=now)) == []


class TestTheAddress:
    def test_renewing_ends_the_one_before(self, people, token, now):
        again = services.renew(people.technician, at=now)
        assert got(token).status_code == 404
        assert got(again).status_code == 200

    def test_only_a_hash_is_kept(self, token):
        kept = CalendarAddress.objects.get()
        assert token not in str(kept.__dict__)

    def test_nothing_forged_opens_it(self, token):
        for forged in (
            "",
            "x",
            token[:-1],
            token + "x",
            token.swapcase(),
            "x" * 5000,
            "%00",
            "\udcff",
        ):
            assert got(forged.encode("utf-8", "replace").decode()).status_code == 404

    def test_it_falls_with_the_person(self, people, token):
        people.technician.groups.clear()
        assert got(token).status_code == 404

    def test_it_falls_while_the_person_is_stopped(self, people, token):
        people.technician.is_active = False
        people.technician.save()
        assert got(token).status_code == 404

    def test_it_only_reads(self, token):
        client = Client(enforce_csrf_checks=True)
        for verb in ("post", "put", "patch", "delete"):
            assert getattr(client, verb)(f"/calendar/{token}.ics").status_code in (403, 405)
        assert client.head(f"/calendar/{token}.ics").status_code == 200

    def test_it_opens_nothing_else_and_signs_nobody_in(self, token):
        client = Client()
        got(token, client)
        assert client.get("/jobs/")["Location"].startswith("/sign-in/")
        assert not client.cookies

    def test_the_log_does_not_name_it(self, token):
        assert token not in hidden(f"GET /calendar/{token}.ics 200")

    def test_it_is_kept_by_nobody_on_the_way(self, token):
        assert got(token)["Cache-Control"] == "private, no-store"


class TestThePage:
    def test_shows_the_address_once(self, client, people):
        client.force_login(people.technician)
        page = client.post("/account/calendar/", {"act": "renew"}).content.decode()
        address = page.split("<code>")[1].split("</code>")[0]
        assert Client().get(address.partition("8000")[2]).status_code == 200
        assert address not in client.get("/account/calendar/").content.decode()

    def test_takes_it_away(self, client, people, token):
        client.force_login(people.technician)
        assert client.post("/account/calendar/", {"act": "stop"}).status_code == 302
        assert got(token).status_code == 404

    def test_is_of_the_person_alone(self, client, people, token):
        client.force_login(people.owner)
        client.post("/account/calendar/", {"act": "stop"})
        assert got(token).status_code == 200


def test_as_many_questions_for_many_jobs_as_for_one(bench, django_assert_max_num_queries, now):
    for _ in range(5):
        bench.record(bench.receive(), "promise_made", on="2031-03-02")
    with django_assert_max_num_queries(6):
        assert len(days.entries(now, with_calls=True, with_arrivals=True)) == 5
