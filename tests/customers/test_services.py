"""Customers: how they come, what is kept, given out and erased."""

from __future__ import annotations

import json

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from shop.customers import services as customer_services
from shop.customers.models import Customer
from shop.intake import services as intake_services
from shop.intake.services import IntakeDetails
from shop.jobs import queries
from shop.lib.refusals import BadInput, Forbidden, Refused
from shop.photos.models import Photo
from tests.helpers import amplifier
from tests.photos.pictures import picture

pytestmark = pytest.mark.django_db

WHOLE = {
    "name": "Ада Лунд",
    "email": "ada@example.org",
    "phone": "+44 20 7946 0000",
    "address": "1 Row\nTown",
    "contact_by": "telephone",
    "agreed_to_mail": True,
    "came_by": "parcel",
    "parcel": "crushed",
    "accessories": "mains lead\nremote control",
    "ring_above": "150",
}


@pytest.fixture
def take(people, now):
    def receive(facts=None, make="Corvenby", serial="", **details):
        unit = {"make": make, "serial": serial, "facts": facts or {}}
        return intake_services.receive(
            by=people.desk, at=now, details=IntakeDetails(**details), **unit
        )

    return receive


def test_how_it_came_goes_into_the_ledger_and_the_person_does_not(take):
    job = take(**WHOLE)
    rows = queries.record_of(job).rows
    told = json.dumps([row.data for row in rows], ensure_ascii=False)
    assert "Came by parcel. The parcel was crushed or dented." in told
    assert "With it: mains lead, remote control." in told
    assert queries.record_of(job).agreement.ring_above == "150"
    for personal in ("Ада", "ada@example.org", "7946", "1 Row"):
        assert personal not in told


def test_consent_is_noted_with_its_moment(take, now):
    assert take(**WHOLE).intake.customer.agreed_to_mail_at == now
    assert take(name="Bo").intake.customer.agreed_to_mail_at is None


def test_the_same_name_and_address_is_the_same_customer_and_learns(take):
    first = take(name="Ada", email="ada@example.org").intake.customer
    again = take(name="Ada", email="ADA@example.org", phone="123").intake.customer
    assert again.pk == first.pk
    assert again.phone == "123"
    assert take(name="Ada").intake.customer.pk != first.pk


def test_nothing_known_of_the_customer_leaves_no_customer(take):
    job = take(came_by="counter")
    assert job.intake.customer is None
    assert Customer.objects.count() == 0


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("email", "ada@", "name@example.org"),
        ("phone", "1" * 61, "at most 60"),
        ("contact_by", "pigeon", "email, telephone, letter"),
        ("came_by", "air", "counter, parcel, fetched"),
        ("parcel", "lost", "sound, damp"),
        ("ring_above", "lots", "120"),
        ("name", "a\x00b", "control character"),
    ],
)
def test_what_is_wrong_is_named_and_nothing_is_received(take, field, value, said):
    with pytest.raises(BadInput, match=said):
        take(**{field: value})
    assert not queries.jobs(timezone.now()).exists()


def test_what_is_given_out_is_everything_kept(take):
    job = take(**WHOLE)
    told = customer_services.told(job.intake.customer)
    assert {told[name] for name in customer_services.PERSONAL} >= {"Ада Лунд", "ada@example.org"}
    assert told["units"][0]["accessories"] == ["mains lead", "remote control"]


class TestErasing:
    def test_is_refused_while_a_unit_is_here(self, take, people, now):
        job = take(**WHOLE)
        with pytest.raises(Refused, match=f"Job {job.number} is open"):
            customer_services.erase(job.intake.customer, by=people.owner, at=now)

    def test_takes_the_person_and_leaves_the_work(self, take, bench, people, now):
        job = take(facts=amplifier(), **WHOLE)
        bench.pass_gate(job.number, "hand-back")
        bench.stage(job.number, "withdrawn")
        before = [row.hash for row in queries.rows_of(job)]
        gone = customer_services.erase(job.intake.customer, by=people.owner, at=now)
        assert [getattr(gone, name) for name in customer_services.PERSONAL] == [""] * len(
            customer_services.PERSONAL
        )
        assert gone.agreed_to_mail_at is None
        assert [row.hash for row in queries.rows_of(job)] == before
        assert str(gone) == f"Customer {gone.pk}, erased"
        assert gone not in customer_services.listed()

    def test_is_for_the_owner_of_the_shop(self, people, now):
        known = Customer.objects.create(name="Ada")
        with pytest.raises(Forbidden):
            customer_services.erase(known, by=people.technician, at=now)


class TestPages:
    def test_receiving_with_everything(self, client, people):
        client.force_login(people.desk)
        body = {f"customer_{name}": value for name, value in WHOLE.items()}
        body["customer_agreed_to_mail"] = "on"
        answer = client.post(reverse("receive"), {"make": "Corvenby"} | body)
        assert answer.status_code == 302
        customer = Customer.objects.get()
        assert (customer.name, customer.contact_by) == ("Ада Лунд", "telephone")

    @pytest.mark.parametrize("field", ["customer_email", "customer_ring_above"])
    def test_a_wrong_field_is_marked_and_the_rest_kept(self, client, people, field):
        client.force_login(people.desk)
        body = {"make": "Corvenby", "customer_name": "Ada", field: "nonsense"}
        answer = client.post(reverse("receive"), body)
        page = answer.content.decode()
        assert answer.status_code == 422
        assert 'value="Ada"' in page
        assert "nonsense" in page
        assert "field-error" in page

    def test_pictures_come_in_with_the_unit_and_a_bad_one_keeps_nothing_out(self, client, people):
        client.force_login(people.desk)
        sent = [
            SimpleUploadedFile("ok.jpg", picture(), "image/jpeg"),
            SimpleUploadedFile("x.svg", b"<svg/>", "image/jpeg"),
        ]
        body = {"make": "Corvenby", "customer_came_by": "parcel", "photo": sent}
        page = client.post(reverse("receive"), body, follow=True).content.decode()
        assert "x.svg&#x27;: The file is no picture" in page
        assert [one.subject for one in Photo.objects.all()] == ["parcel"]

    def test_hints_while_typing(self, client, people, take):
        job = take(serial="K-1", email="ada@example.org", name="Ada")
        client.force_login(people.desk)
        for query in ("serial=k-1", "customer_email=ADA@example.org"):
            page = client.get(f"{reverse('receive-hints')}?{query}").content.decode()
            assert f"Job {job.number}" in page
        for query in ("", "serial=", "serial=K-2"):
            page = client.get(f"{reverse('receive-hints')}?{query}").content.decode()
            assert "Job" not in page

    def test_customers_are_found_by_any_word(self, client, people, take):
        take(name="Ada Lund", phone="0815")
        take(name="Bo", email="bo@example.org")
        client.force_login(people.desk)
        for query, there, not_there in (("lund 08", "Ada", "Bo"), ("bo@", "Bo", "Ada")):
            page = client.get(reverse("customers"), {"q": query}).content.decode()
            assert there in page
            assert not_there not in page
        assert "Nobody fits" in client.get(reverse("customers"), {"q": "x\0y"}).content.decode()

    def test_a_change_is_kept_or_named(self, client, people, now):
        customer = Customer.objects.create(name="Ada", agreed_to_mail_at=now)
        client.force_login(people.desk)
        path = reverse("customer-change", args=[customer.pk])
        bad = client.post(path, {"name": "Ada", "email": "x@"})
        assert bad.status_code == 422
        assert "name@example.org" in bad.content.decode()
        client.post(path, {"name": "Ada L", "contact_by": "letter"})
        customer.refresh_from_db()
        assert (customer.name, customer.contact_by, customer.agreed_to_mail_at) == (
            "Ada L",
            "letter",
            None,
        )

    def test_data_is_a_file(self, client, people, take):
        customer = take(**WHOLE).intake.customer
        client.force_login(people.desk)
        answer = client.get(reverse("customer-data", args=[customer.pk]))
        assert answer.json()["name"] == "Ада Лунд"
        assert "attachment" in answer["Content-Disposition"]

    def test_erasing_asks_once(self, client, people):
        customer = Customer.objects.create(name="Ada")
        client.force_login(people.owner)
        path = reverse("customer-erase", args=[customer.pk])
        page = client.post(path).content.decode()
        assert "Erase Ada?" in page
        assert "No unit of theirs is here" in page
        assert Customer.objects.get().name == "Ada"
        page = client.post(path, {"sure": "yes"}, follow=True).content.decode()
        assert "Everything personal was taken away" in page
        assert client.post(reverse("customer-change", args=[customer.pk]), {}).status_code == 404

    def test_old_addresses_lead_to_the_new_ones(self, client):
        for old, new in (
            ("/owners/?q=ada", "/customers/?q=ada"),
            ("/owners/7/", "/customers/7/"),
            ("/jobs/7/owner/", "/jobs/7/customer/"),
        ):
            assert client.get(old)["Location"] == new
