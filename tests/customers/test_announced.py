"""Units that are announced: taken down, said by link, received in one step, and gone afterwards."""

from __future__ import annotations

import json
from datetime import date, timedelta

import pytest
from django.core.signing import Signer
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from shop.customers import services as keeping
from shop.customers.announced import queries, services
from shop.customers.announced.models import Announcement
from shop.customers.links import keys
from shop.customers.models import Customer, Intake
from shop.intake import services as intake_services
from shop.jobs.models import Job
from shop.lib.limits import allow
from shop.lib.refusals import BadInput, Forbidden, Refused
from shop.pages.customer.views import ANSWERS
from shop.preferences.kinds import CARRIERS

pytestmark = pytest.mark.django_db

SAID = {
    "make": "Corvenby",
    "model": "C 4",
    "serial": "K-77",
    "complaint": "Hums louder since the winter",
    "name": "Ада Лунд",
    "email": "ada@example.org",
    "phone": "0815",
    "contact_by": "telephone",
    "carrier": "North Post",
    "tracking": "NP 1",
    "expected_on": "2031-03-12",
}


@pytest.fixture
def soon():
    """The day on which it is expected; the service takes none that is far away."""
    return timezone.localdate() + timedelta(days=3)


@pytest.fixture
def announce(people, soon):
    def take(**said):
        given = (said or SAID) | ({"expected_on": soon.isoformat()} if not said else {})
        return services.announce(given, by=people.desk, at=timezone.now())

    return take


@pytest.fixture
def customer():
    """A browser that nobody signed in with."""
    return Client()


def path_of(row):
    return reverse("announce", args=[queries.token(row)])


class TestTakingDown:
    def test_everything_is_kept_and_is_no_job(self, announce, soon):
        row = announce()
        assert (row.unit, row.who, row.expected_on) == ("Corvenby C 4", "Ада Лунд", soon)
        assert list(queries.expected()) == [row]
        assert not Job.objects.exists()
        assert not Customer.objects.exists()

    def test_a_name_alone_is_a_link_that_waits(self, announce, people):
        row = announce(name="Ada")
        assert (list(queries.expected()), list(queries.asked())) == ([], [row])
        services.change(row.pk, {"complaint": "hums"}, by=people.desk, at=timezone.now())
        assert (list(queries.expected()), list(queries.asked())) == ([row], [])

    @pytest.mark.parametrize(
        ("said", "field"),
        [
            ({"carrier": "North Post"}, "make"),
            ({"make": "x" * 121}, "make"),
            ({"make": "A", "email": "no address"}, "email"),
            ({"make": "A", "contact_by": "pigeon"}, "contact_by"),
            ({"make": "A", "expected_on": "soon"}, "expected_on"),
            ({"make": "A", "expected_on": "2999-01-01"}, "expected_on"),
            ({"make": "A", "tracking": "x" * 201}, "tracking"),
        ],
    )
    def test_what_cannot_be_is_named(self, announce, said, field):
        with pytest.raises(BadInput) as wrong:
            announce(**said)
        assert [name for name, _ in wrong.value.problems] == [field]
        assert not Announcement.objects.exists()

    def test_the_day_that_comes_first_stands_first(self, announce, soon):
        late = announce(make="B", expected_on=soon.isoformat())
        never = announce(make="C")
        first = announce(make="D", expected_on=(soon - timedelta(days=1)).isoformat())
        assert list(queries.expected()) == [first, late, never]

    def test_who_may_not_receive_announces_nothing(self, people):
        with pytest.raises(Forbidden):
            services.announce(SAID, by=people.viewer, at=timezone.now())


class TestReceiving:
    def receive(self, row, people, **unit):
        given = {name: getattr(row, name) for name in services.OF_UNIT} | unit
        return intake_services.receive(by=people.desk, at=timezone.now(), announced=row.pk, **given)

    def test_it_becomes_the_job_and_forgets_the_person(self, announce, people):
        row = announce()
        job = self.receive(row, people)
        row.refresh_from_db()
        assert row.job_id == job.number
        kept = [getattr(row, name) for name in (*services.PERSONAL, "complaint")]
        assert kept == [""] * len(kept)
        [note] = job.ledger.filter(event_type="note_added")
        assert "the parcel came with North Post, number NP 1." in note.data["text"]
        assert "Ада" not in note.data["text"]

    def test_it_is_received_once(self, announce, people):
        row = announce()
        job = self.receive(row, people)
        with pytest.raises(services.AlreadyReceived, match=f"as job {job.number}"):
            self.receive(row, people, serial="K-78")
        assert Job.objects.count() == 1
        for refused in (
            lambda: services.say(row.pk, {"make": "Z"}, at=timezone.now()),
            lambda: services.change(row.pk, {"make": "Z"}, by=people.desk, at=timezone.now()),
            lambda: services.drop(row.pk, by=people.desk),
        ):
            with pytest.raises(Refused):
                refused()

    def test_one_that_was_taken_away_opens_no_job(self, announce, people):
        row = announce()
        services.drop(row.pk, by=people.desk)
        with pytest.raises(Refused, match="somebody took it away"):
            self.receive(row, people)
        assert not Job.objects.exists()

    def test_a_refused_intake_leaves_it_expected(self, announce, people):
        row = announce()
        with pytest.raises(BadInput):
            self.receive(row, people, facts={"unit.year": 1})
        assert list(queries.expected()) == [row]

    def test_the_page_is_filled_in_and_one_press_receives_it(self, announce, client, people):
        row = announce()
        client.force_login(people.desk)
        page = client.get(reverse("receive"), {"announced": row.pk})
        text = page.content.decode()
        assert "What was said is filled in" in text
        for value in ("Corvenby", "K-77", "Ада Лунд", "Hums louder", "0815"):
            assert value in text
        form = page.context["form"]
        body = {name: form[name].value() for name in form.fields if form[name].value()}
        answer = client.post(reverse("receive"), body)
        job = Job.objects.get()
        assert answer.url == reverse("job", args=[job.number])
        intake = Intake.objects.get(job=job)
        assert (intake.came_by, intake.customer.name) == ("parcel", "Ада Лунд")
        again = client.post(reverse("receive"), body | {"serial": "other"})
        assert again.url == reverse("job", args=[job.number])
        assert Job.objects.count() == 1

    @pytest.mark.parametrize("key", ["0", "x", "999999", "-1", "9" * 30])
    def test_an_announcement_that_is_none_leaves_the_form_empty(self, client, people, key):
        client.force_login(people.desk)
        page = client.get(reverse("receive"), {"announced": key})
        assert page.status_code == 200
        assert "Announced on" not in page.content.decode()

    def test_who_types_the_serial_is_told_that_it_was_announced(self, announce, client, people):
        row = announce()
        client.force_login(people.desk)
        text = client.get(reverse("receive-hints"), {"serial": "k-77"}).content.decode()
        assert f"?announced={row.pk}" in text
        assert "announced" not in client.get(reverse("receive-hints")).content.decode()


class TestLink:
    def test_the_customer_says_what_comes_and_changes_it(self, announce, customer, soon):
        row = announce(name="Ada")
        assert "What are you sending us" in customer.get(path_of(row)).content.decode()
        body = {"make": "Corvenby", "name": "Ada", "expected_on": soon.isoformat()}
        assert customer.post(path_of(row), body).url == path_of(row)
        row.refresh_from_db()
        assert (row.unit, row.expected_on) == ("Corvenby", soon)
        assert row.by_customer_at is not None
        assert "Thank you" in customer.get(path_of(row)).content.decode()
        customer.post(path_of(row), {"make": "Corvenby", "model": "C 5"})
        row.refresh_from_db()
        assert (row.unit, row.name, row.expected_on) == ("Corvenby C 5", "", None)

    def test_a_phone_fills_in_what_it_knows_of_its_person_and_the_shops_form_not(
        self, announce, customer, client, people
    ):
        text = customer.get(path_of(announce(name="Ada"))).content.decode()
        for purpose in ("name", "tel", "email", "street-address"):
            assert f'autocomplete="{purpose}"' in text
        client.force_login(people.desk)
        assert 'autocomplete="email"' not in client.get(reverse("announced")).content.decode()

    def test_it_tells_the_terms_before_anything_is_sent(self, announce, customer, settings):
        row = announce(name="Ada")
        assert "Terms of the shop" not in customer.get(path_of(row)).content.decode()
        settings.TERMS, settings.INSPECTION_FEE = "Kept for a year.\n<b>Paid</b> first.", 35
        text = customer.get(path_of(row)).content.decode()
        assert "Terms of the shop" in text
        assert "Kept for a year.<br>&lt;b&gt;Paid&lt;/b&gt; first." in text
        assert "the inspection costs 35.00 EUR without tax" in text

    @pytest.mark.parametrize(
        ("body", "sentence"),
        [
            ({"name": "Ada"}, "Please say what comes"),
            ({"make": "A", "email": "none"}, "email is"),
            ({"make": "A", "expected_on": "2031-02-30"}, "expected_on is"),
            ({"make": "x" * 200}, "at most 120 characters"),
        ],
    )
    def test_what_is_wrong_comes_back_as_it_was_typed(self, announce, customer, body, sentence):
        row = announce(name="Bo")
        answer = customer.post(path_of(row), body | {"phone": "as typed"})
        text = answer.content.decode()
        assert answer.status_code == 422
        assert sentence in text
        assert "as typed" in text
        row.refresh_from_db()
        assert (row.name, row.phone) == ("Bo", "")

    def test_it_leaves_no_trace_and_has_no_script(self, announce, customer):
        answer = customer.get(path_of(announce(name="Ada")))
        assert answer["Cache-Control"] == "no-store"
        assert answer["X-Robots-Tag"] == "noindex"
        assert "<script" not in answer.content.decode()

    def test_forged_expired_and_dropped_ones_open_nothing(self, announce, customer, people):
        row, other = announce(name="Ada"), announce(name="Bo")
        token, now = queries.token(row), timezone.now()
        for forged in (
            token[:-1],
            f"{row.pk}-{row.nonce}",
            Signer(sep=".", salt="shop.announced").sign(f"{row.pk}-{other.nonce}"),
            Signer(sep=".", salt="shop.link").sign(f"{row.pk}-{row.nonce}"),
            "x" * 1000,
        ):
            assert queries.opened(forged, now=now) is None
            assert keys.opened(forged, now=now) is None
        assert keys.opened(token, now=now) is None
        assert queries.opened(token, now=row.expires_at) is None
        services.drop(row.pk, by=people.desk)
        assert customer.get(path_of(row)).status_code == 404
        assert customer.post(path_of(row), {"make": "A"}).status_code == 404

    def test_it_shows_nothing_of_others_and_nothing_of_the_job_once_it_is_here(
        self, announce, customer, people
    ):
        announce(make="Foreign", name="Somebody else")
        row = announce()
        assert "Foreign" not in customer.get(path_of(row)).content.decode()
        job = intake_services.receive(
            by=people.desk, at=timezone.now(), announced=row.pk, make="Corvenby"
        )
        text = customer.get(path_of(row)).content.decode()
        assert "is here" in text
        assert "your-unit" not in text
        before = job.ledger.count()
        customer.post(path_of(row), {"make": "Z"})
        assert job.ledger.count() == before
        link = keys.link_for(job, now=timezone.now())
        assert keys.token(link) in customer.get(path_of(row)).content.decode()
        keys.revoke(job, by=people.desk, at=timezone.now())
        assert "your-unit" not in customer.get(path_of(row)).content.decode()

    def test_too_many_answers_are_slowed_down(self, announce, customer):
        row = announce(name="Ada")
        for _ in range(ANSWERS):
            allow(f"announcement-answers/{row.pk}", ANSWERS, seconds=3600)
        assert customer.post(path_of(row), {"make": "A"}).status_code == 429


class TestPages:
    def test_from_a_call_to_the_link(self, client, people):
        client.force_login(people.desk)
        answer = client.post(reverse("announced"), {"name": "Ada", "email": "ada@example.org"})
        row = Announcement.objects.get()
        text = client.get(answer.url).content.decode()
        assert queries.address(row) in text
        assert "mailto:ada@example.org?subject=" in text
        assert "Receive it" not in text
        client.post(reverse("announcement-change", args=[row.pk]), {"make": "Corvenby"})
        assert "Receive it" in client.get(answer.url).content.decode()

    def test_what_is_wrong_is_kept_as_typed(self, client, people):
        client.force_login(people.desk)
        answer = client.post(reverse("announced"), {"make": "A", "email": "none"})
        assert answer.status_code == 422
        assert 'value="none"' in answer.content.decode()
        assert client.post(reverse("announced"), {}).status_code == 422

    def test_it_is_taken_away_once_that_is_meant(self, client, people, announce):
        row = announce()
        client.force_login(people.desk)
        path = reverse("announcement-drop", args=[row.pk])
        assert "it does not come?" in client.post(path).content.decode()
        assert Announcement.objects.exists()
        client.post(path, {"sure": "yes"})
        assert not Announcement.objects.exists()
        assert client.get(reverse("announcement", args=[row.pk])).status_code == 404

    def test_home_follows_the_parcel_and_leads_to_the_form(
        self, client, people, announce, settings
    ):
        settings.CARRIERS = CARRIERS.read("North Post https://north.example/{number}")
        client.force_login(people.desk)
        assert "Expected" not in client.get(reverse("home")).content.decode()
        row = announce()
        text = client.get(reverse("home")).content.decode()
        assert 'href="https://north.example/NP%201"' in text
        assert f"/receive/?announced={row.pk}" in text
        Announcement.objects.update(expected_on=date(2020, 1, 1))
        assert "was expected on" in client.get(reverse("home")).content.decode()


class TestPersonalData:
    def test_it_is_handed_out_and_goes_with_the_person(self, announce, people):
        row, other = announce(), announce(make="B", email="bo@example.org")
        known = Customer.objects.create(name="Ада Лунд", email="ADA@example.org")
        [told] = keeping.told(known)["announced"]
        assert (told["make"], told["tracking"]) == ("Corvenby", "NP 1")
        keeping.erase(known, by=people.owner, at=timezone.now())
        assert not Announcement.objects.filter(pk=row.pk).exists()
        assert list(queries.expected()) == [other]

    def test_nobody_is_somebody_without_e_mail_and_telephone(self, announce):
        announce(make="A", name="Ada")
        assert not queries.of_customer(Customer.objects.create(name="Ada")).exists()


class TestApi:
    def call(self, client, verb, path, body=None):
        given = json.dumps(body) if body is not None else ""
        return client.generic(verb, f"/api/v1/{path}", given, "application/json")

    def test_announce_change_receive(self, client, people, soon):
        client.force_login(people.desk)
        said = {"make": "Corvenby", "email": "ada@example.org", "tracking": "NP 1"}
        row = self.call(client, "POST", "announced/", said | {"expected_on": str(soon)}).json()
        assert (row["make"], row["expected_on"], row["job"]) == ("Corvenby", str(soon), None)
        assert "/announce/" in row["link"]
        path = f"announced/{row['id']}/"
        changed = self.call(client, "PATCH", path, {"model": "C 4", "expected_on": ""}).json()
        assert (changed["make"], changed["model"]) == ("Corvenby", "C 4")
        assert changed["expected_on"] is None
        assert [one["id"] for one in self.call(client, "GET", "announced/").json()] == [row["id"]]
        job = self.call(client, "POST", path + "receive/", {"facts": {"unit.kind": "tuner"}})
        assert job.status_code == 201
        assert job.json()["unit"]["model"] == "C 4"
        assert Intake.objects.get().customer.email == "ada@example.org"
        assert self.call(client, "GET", path).json()["job"] == job.json()["number"]
        again = self.call(client, "POST", path + "receive/", {})
        assert (again.status_code, again.json()["codes"]) == (409, ["received"])
        assert self.call(client, "DELETE", path).status_code == 409

    def test_what_is_wrong(self, client, people):
        client.force_login(people.desk)
        for body in ({}, {"expected_on": "soon", "make": "A"}, {"makes": "A"}, {"email": "x"}):
            assert self.call(client, "POST", "announced/", body).status_code == 422
        for path in ("announced/99/", f"announced/{2**70}/"):
            assert self.call(client, "GET", path).status_code == 404
