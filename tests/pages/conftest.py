"""A shop that has a row for every page."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.utils import timezone

from shop.accounts import people as people_of_the_shop
from shop.bills.models import Bill, BillLine
from shop.customers.announced import services as announcing
from shop.customers.models import Customer
from shop.estimates import services as estimate_services
from shop.instruments.models import Instrument
from shop.jobs.models import Job, JobPart
from shop.messages.models import Message
from shop.model_sheets.models import ModelSheet
from shop.outlets.models import Outlet
from shop.parts.orders import LineToOrder
from shop.photos.models import PhotoMark
from shop.planning import ordering
from shop.sound.models import SoundInput
from shop.timers import services as timers
from shop.timers.models import Timer
from shop.webhooks.models import Endpoint
from tests.factories import OfferFactory
from tests.helpers import amplifier
from tests.manuals.pdfs import file_of_model
from tests.photos.pictures import snap


@pytest.fixture
def number(bench):
    """A job with a part on order and one that is not, and somebody who sells both."""
    job = bench.receive(facts=amplifier(intake__damage=["burnt-smell"]))
    offer = OfferFactory()
    ModelSheet.objects.create(make="Test Works", model="Sheet 1")
    now = timezone.now()
    customer = Customer.objects.create(name="Ada")
    Instrument.objects.create(name="Bench meter")
    Outlet.objects.create(name="B1", kind="modbus", host="b1", port=502, claimed_by_job_id=job)
    SoundInput.objects.create(
        name="Line in 1", full_scale_volts=2, calibrated_at=now, calibrated_by=bench.by
    )
    Endpoint.objects.create(address="https://example.org/", made_at=now, made_by=bench.by)
    announcing.announce({"make": "Corvenby"}, by=bench.by, at=now)
    Message.objects.create(
        job_id=job, customer=customer, key="ready", send_after=now, written_at=now
    )
    taken = snap(job, by=bench.by)
    PhotoMark.objects.create(photo=taken, shape="ring", x1=0, y1=0, x2=9, y2=9, by=bench.by, at=now)
    file_of_model(bench.by)
    unit = Job.objects.get(pk=job).unit
    Job.objects.create(unit=unit, returned_from_id=job, received_at=now, stage_since=now)
    for _ in range(2):
        bench.record(job, "part_needed", spec=offer.part.spec, part=offer.part.pk)
    first = JobPart.objects.filter(job=job).first()
    lines = [LineToOrder(offer.part, 1, Decimal(2), (((job, first.need), 1),))]
    ordering.place(offer.supplier, lines, by=bench.by, at=timezone.now())
    estimate_services.get_or_create_draft(job, by=bench.by, at=timezone.now())
    issued_bill(job, bench.by)
    reminder = {
        "about": "payment",
        "way": Message.HAND,
        "key": f"payment/{Bill.objects.get().number}",
    }
    Message.objects.create(
        job_id=job, customer=customer, text="Open.", send_after=now, written_at=now, **reminder
    )
    timers.start(job, Timer.TRIAL, 5.0, by=bench.by, at=now)
    people_of_the_shop.invite("mo", "desk", by=User.objects.get(groups__name="owner"), at=now)
    return job


def issued_bill(job, by):
    now = timezone.now()
    today = timezone.localdate(now)
    bill = Bill.objects.create(
        job_id=job, made_at=now, made_by=by, currency="EUR", tax_name="VAT", delivered_on=today
    )
    BillLine.objects.create(bill=bill, place=0, words="Repair", price=Decimal(100))
    bill.seller_name, bill.seller_country, bill.buyer_country = "Tin Lane", "DE", "DE"
    bill.seller_tax_number, bill.buyer_name = "DE123456789", "Ada"
    bill.net = bill.gross = Decimal(100)
    bill.year, bill.place, bill.issued_on, bill.due_on = today.year, 1, today, today
    bill.issued_at, bill.issued_by = now, by
    bill.save()
