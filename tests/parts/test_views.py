"""Pages of parts: a price can name a supplier that the shop does not know yet."""

from __future__ import annotations

import pytest
from django.urls import reverse

from shop.parts.models import Offer, Supplier
from tests.factories import PartFactory

pytestmark = pytest.mark.django_db


@pytest.fixture
def note(client, people):
    client.force_login(people.technician)
    part = PartFactory()

    def post(**given):
        return client.post(reverse("part-offer", args=[part.pk]), {"breaks": "1: 2.40", **given})

    return post


def test_a_new_supplier_is_added_with_its_first_price(note):
    assert note(new_supplier="North Parts").status_code == 302
    assert note(new_supplier="North Parts").status_code == 302
    assert Supplier.objects.get().name == "North Parts"
    assert Offer.objects.get().supplier.name == "North Parts"


def test_no_supplier_at_all_is_asked_for(note):
    answer = note()
    assert answer.status_code == 422
    assert "write the name of a new one" in answer.content.decode()
    assert not Supplier.objects.exists()


def test_empty_lists_offer_what_to_do(client, people):
    client.force_login(people.technician)
    assert "Add a supplier" in client.get("/suppliers/").content.decode()
    assert "Add a part" in client.get("/parts/").content.decode()
