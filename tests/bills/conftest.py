"""A shop whose settings suffice for bills, and units that have left it."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.utils import timezone

from shop.bills import issuing, services
from shop.customers.models import Customer, Intake
from shop.estimates import services as estimates
from shop.jobs.models import Job
from tests.helpers import Bench


@pytest.fixture
def office(settings):
    """What a bill has to know of the shop."""
    settings.SHOP_NAME, settings.POSTAL_ADDRESS = "Tin Lane Audio", "4 Tin Lane"
    settings.POST_CODE, settings.CITY = "12345", "Upper Tin"
    settings.COUNTRY, settings.TAX_NUMBER = "DE", "DE123456789"
    settings.TAX_RATE, settings.HOURLY_RATE = Decimal(19), Decimal(80)
    settings.EMAIL, settings.TELEPHONE = "bench@tinlane.example", "0555 0142"
    settings.INSPECTION_FEE = Decimal(35)
    # The example account of the registry of ISO 13616, from memory.
    settings.IBAN = "DE89370400440532013000"
    return settings


@pytest.fixture
def desk(people):
    return people.desk


def with_customer(number: int, name: str = "Mirela Kovač", **arrival) -> Customer:
    customer = Customer.objects.create(
        name=name, address="7 Brass Row", post_code="54321", city="Lower Tin"
    )
    given = {"customer": customer, "came_by": Intake.COUNTER} | arrival
    Intake.objects.update_or_create(job_id=number, defaults=given)
    return customer


def left(number: int, stage: str = "released") -> int:
    """A unit that has left; the way there is tested elsewhere."""
    Job.objects.filter(pk=number).update(stage=stage, closed_at=timezone.now())
    return number


def line(words="Repair", quantity="1", price="100", sort="labour", **more):
    return {
        "sort": sort,
        "words": words,
        "quantity": Decimal(quantity),
        "price": Decimal(price),
        "tax_rate": Decimal(19),
        "need": None,
        "work": "",
    } | more


def agree(bench: Bench, number: int, *lines, at) -> None:
    """An estimate with these lines, said yes to."""
    estimates.get_or_create_draft(number, by=bench.by, at=at)
    estimates.save_draft(number, "", lines, by=bench.by)
    version = estimates.send_draft(number, by=bench.by, at=at).version
    bench.record(number, "estimate_answered", answer="yes", version=version, way="telephone")


@pytest.fixture
def gone(bench, job, office):
    """A released unit with its customer; two hours of work are on record."""
    with_customer(job)
    bench.record_late(job, "work_done", work="relay-cleaned", minutes=120)
    return left(job)


@pytest.fixture
def issued(gone, desk, now):
    """The bill of that unit: 160 and 30.40 of tax."""
    services.get_or_create_draft(gone, by=desk, at=now)
    return issuing.issue(gone, by=desk, at=now)
