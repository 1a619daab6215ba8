from __future__ import annotations

import re
from contextlib import contextmanager
from decimal import Decimal

import pytest
from django.contrib.auth.models import User
from django.core.cache import cache
from django.db import transaction
from django.urls import URLPattern, URLResolver, get_resolver, reverse
from django.utils import timezone

from shop.accounts import people as people_of_the_shop
from shop.accounts.models import AccountLink
from shop.bills.models import Bill, BillLine
from shop.customers.announced import services as announcing
from shop.customers.announced.models import Announcement
from shop.customers.models import Customer
from shop.estimates import services as estimate_services
from shop.instruments.models import Instrument
from shop.jobs.models import Job, JobPart
from shop.manuals.models import Manual, PageLink
from shop.messages.models import Message
from shop.model_sheets.models import ModelSheet
from shop.outlets.models import Outlet
from shop.parts.models import Order, OrderLine, Part, Supplier
from shop.parts.orders import LineToOrder
from shop.photos.models import Photo, PhotoMark
from shop.planning import basket_proposals, ordering
from shop.sound.models import SoundInput
from shop.timers import services as timers
from shop.timers.models import Timer
from shop.webhooks.models import Endpoint
from tests.factories import OfferFactory, PartFactory
from tests.helpers import Bench, amplifier, flat
from tests.manuals.pdfs import file_of_model
from tests.photos.pictures import snap

pytestmark = pytest.mark.django_db

ALL = {"owner", "technician", "desk", "viewer"}
HANDS = {"owner", "technician"}
ORDER = HANDS | {"desk"}
BILL = {"owner", "desk"}
THEN = "2026-03-02T10:00"
OF_PARTS = {"part", "part-offer", "part-stock", "supplier", "parcel"}

HOUSE_RULE = {
    "id": "x",
    "because": "We say so.",
    "source": "house",
    "when": "unit.year < 1990",
    "require": ["touch-current"],
    "act": "keep",
}

OUTLET = {"name": "B2", "kind": "modbus", "host": "b2", "port": "502", "least_watts": "1"}

# name: (GET allowed for, POST allowed for, a body that a right role gets 302 or 200 with)
VIEWS = {
    "home": (ALL, None, {}),
    "jobs": (ALL, None, {}),
    "job": (ALL, None, {}),
    "step": (ALL, None, {}),
    "job-list": (ALL, None, {}),
    "job-write": (ALL, None, {}),
    "job-unit": (ALL, None, {}),
    "job-parts": (ALL, None, {}),
    "causes": (ALL, None, {}),
    "job-look-up": (ALL, None, {}),
    "open-jobs": (ALL, None, {}),
    "live-units": (ALL, None, {}),
    "ledger": (ALL, None, {}),
    "rules": (ALL, None, {}),
    "rule-step": (ALL, None, {}),
    "why": (ALL, None, {}),
    "house": (ALL, None, {}),
    "house-write": ({"owner"}, {"owner"}, HOUSE_RULE),
    "house-check": (None, {"owner"}, {"when": "true"}),
    "house-drop": (None, {"owner"}, {"rule": "x"}),
    "house-publish": (None, {"owner"}, {}),
    "settings": ({"owner"}, {"owner"}, {}),
    "settings-country": ({"owner"}, {"owner"}, {}),
    "instruments": ({"owner"}, {"owner"}, {"name": "Clamp"}),
    "instrument": ({"owner"}, {"owner"}, {"name": "Clamp"}),
    "instrument-range": (None, {"owner"}, {"drop": "1"}),
    "instrument-retire": (None, {"owner"}, {}),
    "outlets": (ALL, {"owner"}, OUTLET),
    "outlet": (ALL, None, {}),
    "outlet-change": (None, {"owner"}, OUTLET),
    "outlet-claim": (None, HANDS, {}),
    "outlet-leave": (None, ALL, {}),
    "outlet-label": (ALL, None, {}),
    "outlet-commissioning": ({"owner"}, {"owner"}, {"act": "begin"}),
    "job-outlet": (ALL, None, {}),
    "job-outlet-claim": (None, HANDS, {}),
    "job-outlet-reading": (None, HANDS, {"quantity": "idle_watts", "value": "1"}),
    "instrument-connection": ({"owner"}, {"owner"}, {"act": "find"}),
    "instrument-connection-asked": ({"owner"}, None, {}),
    "read-meter": (None, HANDS, {"release": "offset_millivolts:1"}),
    "meter-asked": (HANDS, None, {}),
    "meter-here": (None, HANDS, {}),
    "job-meter": (HANDS, HANDS, {"release": "1"}),
    "soak-start": (None, HANDS, {"log": "1"}),
    "soak-log": (None, HANDS, {"log-sink_celsius": ""}),
    "offline": (ALL, None, {}),
    "scan-picture": (None, ALL, {}),
    "tokens": (ALL, None, {}),
    "make-token": (None, ALL, {"name": "scale", "scope": "read", "days": "30"}),
    "revoke-token": (None, ALL, {}),
    "backlog": (ALL, None, {}),
    "order": (ORDER, ORDER, {"per_day": "2"}),
    "need": (ORDER, ORDER, {"supplier": "1", "price": "2", "quantity": "1"}),
    "need-part": (None, ORDER, {}),
    "need-substitutes": (ALL, None, {}),
    "finish": (ALL, None, {}),
    "parcel": (ALL, ORDER, {"act": "arrived"}),
    "flow": (ALL, None, {}),
    "models": (ALL, HANDS, {"make": "M", "model": "X"}),
    "part-values": (ALL, ORDER, {"part_class": "fuse", "amps": "2"}),
    "substitutes": (ALL, None, {}),
    "model-sheet": (ALL, None, {}),
    "model-figure": (None, HANDS, {"name": "unit.rail_volts", "value": "75", "source": "page 3"}),
    "recording": (HANDS, HANDS, {}),
    "sound": (HANDS, HANDS, {"name": "Line in", "channel": "1", "full_scale_volts": "2"}),
    "sound-retire": (None, HANDS, {}),
    "sound-signal": (ALL, None, {}),
    "trials": (ALL, None, {}),
    "soak": (ALL, None, {}),
    "estimate": (ALL, None, {}),
    "estimate-start": (None, ORDER, {}),
    "estimate-change": (None, ORDER, {"line-TOTAL_FORMS": "0", "line-INITIAL_FORMS": "0"}),
    "estimate-limit": (None, ORDER, {"amount": "120"}),
    "estimate-answered": (None, ORDER, {"answer": "yes"}),
    "bills": (ALL, None, {}),
    "owed": (ALL, None, {}),
    "bills-table": (BILL, None, {}),
    "payments-table": (BILL, None, {}),
    "job-bills": (ALL, None, {}),
    "bill-start": (None, BILL, {}),
    "bill-change": (None, BILL, {"act": "drop"}),
    "bill-nothing": (None, BILL, {"reason": "Warranty"}),
    "bill-pay": (None, BILL, {"amount": "1", "paid_on": "2026-03-02", "way": "cash"}),
    "bill-credit": (None, BILL, {}),
    "bill-paper": (ALL, None, {}),
    "bill-xml": (ALL, None, {}),
    "bill-send": (None, BILL, {}),
    "bill-remind": (None, BILL, {}),
    "reminder-paper": (ORDER, None, {}),
    "photos": (ALL, None, {}),
    "photo-strip": (ALL, None, {}),
    "photo-add": (None, ORDER, {}),
    "picture": (ALL, None, {}),
    "photo-marks": (
        ORDER,
        ORDER,
        {"shape": "ring", "x1": "1", "y1": "1", "x2": "9", "y2": "9"},
    ),
    "photo-mark-back": (None, ORDER, {}),
    "photo-show": (None, ORDER, {}),
    "photo-remove": (None, {"owner"}, {}),
    "job-manuals": (ALL, ORDER, {}),
    "model-manuals": (ALL, ORDER, {}),
    "part-manuals": (ALL, ORDER, {}),
    "manual": (ALL, None, {}),
    "manual-pdf": (ALL, None, {}),
    "manual-turn": (ALL, None, {}),
    "manual-page": (ALL, None, {}),
    "manual-picture": (ALL, None, {}),
    "manual-link": (None, ORDER, {"beside": "step-visual-intake"}),
    "manual-unlink": (None, ORDER, {}),
    "manual-remove": (None, {"owner"}, {}),
    "customer-side": (ORDER, None, {}),
    "customer-link": (None, ORDER, {}),
    "customer-reply": (None, ORDER, {"text": "On Friday."}),
    "customer-write": (None, ORDER, {"words": "On Friday.", "key": "page-12345"}),
    "customer-shipped": (None, ORDER, {"carrier": "North Post"}),
    "announced": (ORDER, ORDER, {"name": "Ada"}),
    "announcement": (ORDER, None, {}),
    "announcement-change": (None, ORDER, {"make": "Corvenby"}),
    "announcement-drop": (None, ORDER, {"sure": "yes"}),
    "outbox": (ORDER, None, {}),
    "message-done": (None, ORDER, {}),
    "message-again": (None, ORDER, {}),
    "wording": (ORDER, ORDER, {"subject": "{unit}", "text": "Hello", "act": "keep"}),
    "papers": (ALL, None, {}),
    "paper": (ALL, None, {}),
    "paper-preview": (ALL, None, {}),
    "label-zpl": (ALL, None, {}),
    "calculators": (ALL, None, {}),
    "calculator": (ALL, ORDER, {"volts": "75", "microfarads": "10000", "job": "1"}),
    "parts": (ALL, ORDER, {"spec": "A belt"}),
    "part": (ALL, None, {}),
    "part-offer": (None, ORDER, {"supplier": "1", "breaks": "1: 2.40"}),
    "part-stock": (None, ORDER, {"act": "bought", "quantity": "3", "bin": "A1"}),
    "suppliers": (ALL, ORDER, {"name": "North", "postage": "1", "minimum": "0", "usual_days": "3"}),
    "supplier": (ALL, ORDER, {"name": "South", "postage": "1", "minimum": "0", "usual_days": "3"}),
    "reminders": (ALL, None, {}),
    "webhooks": ({"owner"}, {"owner"}, {"address": "https://example.org/", "events": "received"}),
    "webhook": ({"owner"}, {"owner"}, {"act": "test"}),
    "push": (ALL, None, {}),
    "push-add": (None, ALL, {"address": "https://push.example/1"}),
    "push-remove": (None, ALL, {"key": "0"}),
    "api-docs": (ALL, None, {}),
    "calendar": (ALL, ALL, {"act": "renew"}),
    "mail": (None, ALL, {"way": "none"}),
    "snooze-many": (None, ORDER, {"days": "1", "reason": "known"}),
    "parcels-arrived": (None, ORDER, {}),
    "snooze": (None, ORDER, {"topic": "stalled", "days": "1", "reason": "known"}),
    "scan": (ALL, None, {}),
    "tour": (None, ALL, {"page": "bench"}),
    "earlier": (ALL, None, {}),
    "account": (ALL, None, {}),
    "sign-ins": ({"owner"}, None, {}),
    "people": ({"owner"}, None, {}),
    "people-invite": (None, {"owner"}, {"name": "lou", "role": "desk"}),
    "people-change": (None, {"owner"}, {"act": "role", "role": "owner"}),
    "people-link-end": (None, {"owner"}, {}),
    "import": (BILL, BILL, {}),
    "export": ({"owner"}, None, {}),
    "export-download": (None, {"owner"}, {}),
    "search": (ALL, None, {}),
    "similar": (ALL, None, {}),
    "receive-hints": (ORDER, None, {}),
    "receive-models": (ORDER, None, {}),
    "clocks": (ALL, None, {}),
    "timer-start": (None, HANDS, {"kind": "labour"}),
    "timer-stop": (None, HANDS, {}),
    "customers": (ORDER, None, {}),
    "customer": (ORDER, None, {}),
    "customer-change": (None, ORDER, {"name": "Mirela"}),
    "customer-data": (ORDER, None, {}),
    "customer-erase": (None, {"owner"}, {"sure": "yes"}),
    "keys": (ALL, ALL, {"keys": "off"}),
    "correct-intake": (HANDS | {"desk"}, HANDS | {"desk"}, {"make": "Corvenby"}),
    "receive": (HANDS | {"desk"}, HANDS | {"desk"}, {"make": "M"}),
    "sign": (None, HANDS, {"result": "pass"}),
    "waive": (None, {"owner"}, {"reason": "seen dry inside"}),
    "undo": (None, HANDS, {}),
    # The row of the unit that came in cannot be withdrawn: who may is told so.
    "withdraw-entry": (HANDS, HANDS, {"reason": "wrong"}),
    "power": (None, ALL, {"to": "isolated"}),
    "plug": (None, ALL, {}),
    "cover": (None, HANDS, {"to": "on"}),
    # Into itself: who may join is told so.
    "join": (None, HANDS, {}),
    "stage": (None, HANDS, {"to": "reproducing"}),
    "record": (None, HANDS | {"desk"}, {"text": "a note"}),
    # The unit is here for the first time: who may is told so.
    "earlier-facts": (None, HANDS, {"as_built": "yes"}),
    "facts": (None, HANDS, {"name": "unit.year", "value": "1988"}),
}
OF_NOTHING = {"home", "jobs", "rules", "receive", "backlog", "order", "flow", "parts", "suppliers"}
OF_NOTHING |= {"model-manuals", "reminders", "mail", "calculators", "calculator", "models", "scan"}
OF_NOTHING |= {
    "customers",
    "receive-hints",
    "receive-models",
    "outbox",
    "wording",
    "search",
    "export",
    "export-download",
    "account",
    "sign-ins",
}
OF_NOTHING |= {
    "announced",
    "tour",
    "keys",
    "offline",
    "scan-picture",
    "settings",
    "settings-country",
    "people",
    "people-invite",
    "instruments",
    "outlets",
    "sound",
    "tokens",
    "make-token",
    "open-jobs",
    "live-units",
    "calendar",
    "sound-signal",
    "push",
    "push-add",
    "push-remove",
    "import",
    "snooze-many",
    "parcels-arrived",
    "webhooks",
    "api-docs",
    "bills",
    "bills-table",
    "owed",
    "payments-table",
}
OF_PARTS |= {"message-done", "message-again", "revoke-token"}
OF_PARTS |= {
    "webhook",
    "timer-stop",
    "people-change",
    "people-link-end",
}
OF_PARTS |= {"instrument", "instrument-range", "instrument-retire"}
OF_PARTS |= {"sound-retire"}
OF_PARTS |= {"picture", "photo-show", "photo-remove", "photo-marks", "photo-mark-back"}
OF_PARTS |= {"part-manuals", *(name for name in VIEWS if name.startswith("manual"))}
OF_PARTS |= {name for name in VIEWS if name.startswith("outlet-")} | {"outlet"}
OF_PARTS |= {"instrument-connection", "instrument-connection-asked"}
OF_PARTS |= {"announcement", "announcement-change", "announcement-drop"}
OF_PARTS |= {"customer", "customer-change", "customer-data", "customer-erase"}
OF_PARTS |= {"model-sheet", "model-figure", "part-values", "substitutes"}
WITHOUT_JOB = {*OF_NOTHING, *OF_PARTS, *(n for n in VIEWS if n.startswith("house"))}
OPEN_TO_STRANGERS = {
    "first-run",
    "sign-in",
    "sign-out",
    "live",
    "ready",
    "metrics",
    "service-worker",
    "trust",
    "trust-authority",
}
# Its own sender alone sees it, whatever the role: tested with intake and transfer.
OF_ONE_PERSON = {"picture-draft", "import-columns", "import-rows"}
BY_LINK = {
    "account-link",
    "announce",
    "calendar-feed",
    "your-unit",
    "your-answer",
    "your-question",
    "your-photo",
    "your-bill",
}


def address(name: str, number: int) -> str:
    if name in OF_PARTS:
        model = {"supplier": Supplier, "parcel": Order}.get(name, Part)
        model = ModelSheet if name.startswith("model-") else model
        model = Customer if name.startswith("customer") else model
        model = Announcement if name.startswith("announcement") else model
        model = Message if name.startswith("message-") else model
        model = Instrument if name.startswith("instrument") else model
        model = Outlet if name.startswith("outlet") else model
        model = SoundInput if name == "sound-retire" else model
        model = Endpoint if name == "webhook" else model
        model = Timer if name.startswith("timer-") else model
        model = {"people-change": User, "people-link-end": AccountLink}.get(name, model)
        model = Photo if name.startswith(("photo-", "picture")) else model
        model = PhotoMark if name == "photo-mark-back" else model
        model = Manual if name.startswith("manual") else model
        model = PageLink if name == "manual-unlink" else model
        sizes = ["small"] if name == "picture" else []
        sizes = [1] if name in ("manual-page", "manual-link") else sizes
        sizes = [1, "small"] if name == "manual-picture" else sizes
        return reverse(name, args=[model.objects.earliest("pk").pk, *sizes])
    if name in ("need", "need-part", "need-substitutes"):
        need = JobPart.objects.filter(ordered=False).first()
        return reverse(name, args=[number, need.need if need else 1])
    keys = {
        "sign": "visual-intake",
        "step": "visual-intake",
        "waive": "no-power-before-look-inside",
    }
    if name in keys:
        return reverse(name, args=[number, keys[name]])
    if name == "record":
        return reverse(name, args=[number, "note_added"])
    if name in ("read-meter", "meter-here"):
        return reverse(name, args=[number, "dc-offset"])
    if name == "meter-asked":
        return reverse(name, args=[number, "dc-offset", "offset_millivolts", 1])
    if name in ("undo", "withdraw-entry"):
        return reverse(name, args=[number, 1])
    if name in ("paper", "paper-preview"):
        return reverse(name, args=[number, "label", "62x29"])
    if name == "model-manuals":
        return reverse(name) + "?make=Test+Works&model=Sheet+1"
    if name == "label-zpl":
        return reverse(name, args=[number, "62x29", "203"])
    if name in ("bills-table", "payments-table"):
        return reverse(name) + "?first=2026-01-01&last=2026-12-31"
    if name in ("bill-pay", "bill-credit", "bill-paper", "bill-xml", "bill-send", "bill-remind"):
        sizes = ["a4"] if name == "bill-paper" else []
        bill = Bill.objects.first()
        return reverse(name, args=[number, bill.pk if bill else 1, *sizes])
    if name == "reminder-paper":
        reminder = Message.objects.filter(about="payment").first()
        return reverse(name, args=[number, reminder.pk if reminder else 1, "a4"])
    if name == "earlier":  # of the unit that came back
        back = Job.objects.filter(returned_from=number if number < 10**6 else 0).first()
        return reverse(name, args=[back.number if back else number])
    if name == "why":
        return reverse(name, args=[number]) + "?step=hot-chassis"
    if name == "sound-signal":
        return reverse(name, args=["sine"])
    if name in ("calculator", "wording"):
        return reverse(name, args=["discharge" if name == "calculator" else "ready"])
    if name == "rule-step":
        return reverse(name, args=["touch-current"])
    return reverse(name, args=[] if name in WITHOUT_JOB else [number])


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


def filled(name: str, body: dict) -> dict:
    """The body, with the keys of the rows that are there."""
    keys = {"supplier": Supplier.objects.earliest("pk").pk} if "supplier" in body else {}
    if name == "job-outlet-claim":
        keys = {"outlet": Outlet.objects.earliest("pk").pk}
    if name in ("calculator", "join", "outlet-claim"):
        keys = {"job": Job.objects.earliest("pk").pk}
    if name == "parcel":
        keys = {OrderLine.objects.earliest("pk").field: "1"}
    if name == "order":
        [need] = JobPart.objects.filter(ordered=False)
        keys = {
            "needs": need.pk,
            "digest": basket_proposals.propose_basket([need], Decimal(2)).digest,
        }
    if name == "bill-pay":
        prefix = f"pay{Bill.objects.get().pk}"
        body = {f"{prefix}-{field}": value for field, value in body.items()}
    return body | keys


def test_the_matrix_knows_every_page():
    def names(patterns):
        for entry in patterns:
            if isinstance(entry, URLResolver):
                # Those of the library for accounts are tested with it.
                library = str(entry.urlconf_name).startswith("<module 'allauth")
                if entry.namespace not in ("api", "admin") and not library:
                    yield from names(entry.url_patterns)
            elif isinstance(entry, URLPattern):
                yield entry.name

    found = {name for name in names(get_resolver().url_patterns) if name}
    found = {name for name in found if not name.startswith("account_")}
    found -= {"api-root", "openapi-json"}
    assert found == set(VIEWS) | OPEN_TO_STRANGERS | OF_ONE_PERSON | BY_LINK


@contextmanager
def undone():
    """What happens inside leaves nothing behind."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)
    cache.clear()


# What a page answers to a body that is allowed, where that is not a way to another page.
ANSWERED = {
    "house-check": 200,
    "customer-write": 409,
    "earlier-facts": 409,
    "soak-start": 409,
    "export-download": 200,
    "recording": 422,
    "photo-add": 422,
    "job-manuals": 422,
    "model-manuals": 422,
    "part-manuals": 422,
    "scan-picture": 422,
    "customer-shipped": 409,
    "join": 409,
    "undo": 422,
    "withdraw-entry": 409,
    "bill-change": 409,  # nothing to drop
    "bill-nothing": 409,  # it is billed
    "bill-send": 409,  # it is for somebody else
    "bill-remind": 409,  # it is not due
    "make-token": 200,
    "calendar": 200,
    "push-add": 422,  # keys are missing
    "import": 422,  # no file was chosen
    "snooze-many": 422,  # nothing is ticked
    "parcels-arrived": 422,
    "webhooks": 200,
    "people-invite": 200,
    "read-meter": 200,
    "meter-here": 422,
}


def told(client, name, number, role) -> str:
    """Return what is wrong with the answers of a page to somebody, or nothing."""
    may_get, may_post, body = VIEWS[name]
    got = client.get(address(name, number))
    posted = client.post(address(name, number), filled(name, body))
    reads = 302 if name == "manual-turn" else 200
    right = reads if role in (may_get or set()) else 405 if may_get is None else 403
    if role in (may_post or set()):
        allowed = ANSWERED.get(name, 302)
    elif name == "waive" and role == "technician":
        allowed = 409
    else:
        allowed = 405 if may_post is None else 403
    if (got.status_code, posted.status_code) == (right, allowed):
        return ""
    return f"{role}: {got.status_code}, {posted.status_code}: {posted.content!r}"


@pytest.mark.parametrize("name", VIEWS)
def test_every_page_for_every_role(client, people, number, name):
    for role in (*sorted(ALL), "nobody"):
        with undone():
            client.force_login(people.named(role))
            assert not told(client, name, number, role)


def test_strangers_are_sent_to_sign_in(client, number):
    before = Job.objects.count()
    for name, (may_get, may_post, body) in VIEWS.items():
        path = address(name, number)
        answers = [client.get(path)] if may_get is not None else []
        answers += [client.post(path, body)] if may_post is not None else []
        for answer in answers:
            assert answer["Location"].startswith("/sign-in/?next="), name
    assert Job.objects.count() == before
    assert Job.objects.get(pk=number).stage == "received"


def test_htmx_gets_a_whole_navigation_to_sign_in(client, number):
    answer = client.post(
        address("power", number), {"to": "isolated"}, headers={"HX-Request": "true"}
    )
    assert answer.status_code == 200
    assert answer["HX-Redirect"].startswith("/sign-in/")


@pytest.mark.parametrize("name", [n for n in VIEWS if n not in WITHOUT_JOB and n != "rule-step"])
def test_a_job_that_is_not_there_is_404(client, people, name):
    client.force_login(people.owner)
    may_get, _, body = VIEWS[name]
    for number in (4711, 10**30):
        path = address(name, number)
        answer = client.get(path) if may_get else client.post(path, body)
        assert answer.status_code == 404


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


def test_signing_on_the_page_without_javascript(hands, bench, number):
    page = hands.get(address("step", number)).content.decode()
    assert "Look, smell, shake" in page
    answer = hands.post(address("sign", number), {"result": "pass"}, follow=True)
    assert answer.redirect_chain[-1][0] == f"/jobs/{number}/"
    assert "Look, smell, shake: signed." in answer.content.decode()
    assert bench.state(number, "visual-intake") == "signed"


def test_signing_with_htmx_answers_with_the_sheet_alone(hands, number):
    answer = hands.post(address("sign", number), {"result": "pass"}, headers={"HX-Request": "true"})
    text = answer.content.decode()
    assert answer.status_code == 200
    assert "<html" not in text
    assert "Look, smell, shake: signed." in text
    assert "HX-Request" in answer["Vary"]


def test_a_refused_power_shows_the_reason_and_status(hands, bench, number):
    answer = hands.post(address("power", number), {"to": "limited"})
    assert answer.status_code == 409
    card = answer.content.decode().split('<section class="act"')[1].split("</section>")[0]
    assert "Hold steps are not signed or no longer stand:" in card
    assert f'<a href="/jobs/{number}/step/visual-intake/">Look, smell, shake</a>' in card
    assert bench.job(number).power == "isolated"


def test_a_bad_reading_is_named_and_nothing_typed_is_lost(hands, bench, number):
    path = reverse("sign", args=[number, "earth-continuity"])
    body = {
        "step": "earth-continuity",
        "result": "pass",
        "reading-earth_ohms": "0.1x",
        "note": "bent lead",
    }
    answer = hands.post(path, body)
    text = answer.content.decode()

    assert answer.status_code == 422
    assert "(earth_ohms): &#x27;0.1x&#x27; is in &#x27;x&#x27;; it must be a number of ohm." in text
    assert 'value="0.1x"' in text
    assert "bent lead" in text
    assert bench.state(number, "earth-continuity") == "due"


def test_a_decimal_comma_and_several_values_are_understood(hands, bench, number):
    alone = bench.receive(facts=amplifier())
    bench.limited(alone)
    path = reverse("sign", args=[alone, "dc-offset"])
    hands.post(
        path,
        {
            "result": "pass",
            "reading-offset_millivolts": "4,5 -7",
            "reading-before_relay_millivolts": "4,5",
        },
    )
    readings = bench.job(alone).ledger.last().data["readings"]
    assert [r["value"] for r in readings] == [4.5, -7.0, 4.5]


def test_a_stale_page_cannot_sign(hands, bench, number):
    bench.open_up(number)
    page = hands.get(f"/jobs/{number}/step/shorts-before-power/").content.decode()
    seen = re.search(r'name="seen" value="(\d+)"', page)[1]
    bench.record(number, "work_done", work="joints-reflowed")
    path = reverse("sign", args=[number, "shorts-before-power"])
    answer = hands.post(path, {"result": "pass", "reading-lowest_ohms": "400", "seen": seen})
    assert answer.status_code == 409
    assert "was recorded since you opened it" in answer.content.decode()


@pytest.mark.parametrize(
    ("kind", "body", "status"),
    [
        ("finding_recorded", {"finding": "joint-cracked", "section": "supply"}, 302),
        ("finding_recorded", {"finding": ""}, 422),
        ("finding_recorded", {"finding": "gremlins"}, 422),
        ("trial_run", {"fault": "yes", "conditions": ["warm", "knocked"]}, 302),
        ("trial_run", {}, 422),
        ("work_done", {"work": "fuse-replaced", "minutes": "12.5"}, 409),
        ("work_done", {"work": "fuse-replaced", "minutes": "12.5", "where": "from_outside"}, 302),
        ("work_done", {"work": "fuse-replaced", "minutes": "long"}, 422),
        ("work_done", {"work": "relay-cleaned", "where": "from_outside"}, 409),
        ("work_done", {"work": "relay-cleaned", "where": "under_the_table"}, 422),
        ("work_done", {"work": "relay-cleaned", "where": "before"}, 302),
        ("work_done", {"work": "relay-cleaned", "late": "forgotten"}, 409),
        ("work_done", {"work": "relay-cleaned", "late": "forgotten", "done_at": THEN}, 302),
        ("part_needed", {"spec": "relay", "required": "on"}, 302),
        ("part_needed", {"spec": ""}, 422),
        ("suspect_changed", {"suspect": "relay", "change": "raised"}, 302),
        ("note_added", {"text": "x" * 30_000}, 422),
        ("note_added", {"text": "嗡"}, 302),
        ("soak_reading", {"quantity": "sink_celsius", "value": "51"}, 409),
        ("soak_started", {}, 409),
        ("estimate_sent", {}, 302),
        ("power_applied", {}, 422),
        ("nonsense", {}, 422),
    ],
)
def test_writing_down_on_the_page(hands, bench, number, kind, body, status):
    before = bench.kinds(number)
    answer = hands.post(reverse("record", args=[number, kind]), body)
    assert answer.status_code == status
    assert bench.kinds(number) == before + ([kind] if status == 302 else [])


def test_a_part_goes_from_needed_to_fitted_by_its_buttons(hands, bench, number):
    hands.post(reverse("record", args=[number, "part_needed"]), {"spec": "relay", "required": "on"})
    need = bench.traveller(number).record.needs[-1].sequence
    bench.open_up(number)
    for kind in ("part_ordered", "part_arrived", "part_fitted"):
        assert f"record/{kind}/" in hands.get(f"/jobs/{number}/parts/").content.decode()
        hands.post(reverse("record", args=[number, kind]), {"need": str(need)})
    done = bench.traveller(number).record.needs[-1]
    assert (done.ordered, done.arrived, done.fitted) == (True, True, True)


@pytest.mark.parametrize(
    ("name", "value", "status"),
    [
        ("unit.year", "1988", 302),
        ("unit.rail_volts", "42,5", 302),
        ("unit.has_laser", "no", 302),
        ("complaint.symptoms", ["hum", "noise"], 302),
        ("unit.year", "", 422),
        ("unit.year", "old", 422),
        ("unit.colour", "red", 422),
        ("job.power", "full", 422),
    ],
)
def test_facts_are_recorded_on_the_page(hands, bench, number, name, value, status):
    answer = hands.post(address("facts", number), {"name": name, "value": value})
    assert answer.status_code == status
    if status == 302:
        typed = {"42,5": 42.5, "no": False, "1988": 1988}
        expected = value if isinstance(value, list) else typed[value]
        assert bench.traveller(number).record.facts[name] == expected


def test_receiving_on_the_page(hands):
    body = {
        "make": "Corvenby",
        "model": "Spool 3",
        "complaint": "وقفة",
        "unit.kind": "cassette-deck",
        "unit.has_laser": "no",
        "unit.rail_volts": "18",
        "complaint.symptoms": ["mechanical"],
        "customer_name": "Tobias",
        "customer_email": "tobias@example.org",
    }
    answer = hands.post("/receive/", body)
    job = Job.objects.get()
    assert answer["Location"] == f"/jobs/{job.number}/"
    assert job.complaint == "وقفة"
    facts = Bench(None).traveller(job.number).record.facts
    assert facts["unit.kind"] == "cassette-deck"
    assert facts["unit.has_laser"] is False
    assert facts["unit.rail_volts"] == 18.0
    assert "unit.supply" not in facts


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        ("unit.year", "old", "unit.year is &#x27;old&#x27;; it must be a whole number"),
        ("unit.rail_volts", "-3", "it must be a number of V from 0"),
        ("unit.kind", "toaster", "not one of the available choices"),
        ("customer_email", "nowhere", "customer.email is &#x27;nowhere&#x27;; write it like"),
        ("complaint", "a\x00b", "Null characters are not allowed"),
    ],
)
def test_a_bad_field_at_intake_is_named_and_the_rest_is_kept(hands, field, value, said):
    answer = hands.post("/receive/", {"make": "Corvenby", field: value})
    text = answer.content.decode()
    assert answer.status_code == 422
    assert said in text
    assert 'value="Corvenby"' in text
    assert not Job.objects.exists()


def test_the_bench_shows_mains_first_and_stalled_jobs(hands, bench, number, now):
    other = bench.receive(facts=amplifier())
    bench.limited(other)
    page = flat(hands.get("/").content.decode())
    assert page.index("Mains on: limited") < page.index("Do now")

    bench.sign(other, "fuse-check", result="fail")
    assert "Pull the plug" in hands.get("/").content.decode()


def test_the_ledger_page_tells_when_the_chain_is_broken(hands, number, monkeypatch):
    assert "chain intact" in hands.get(f"/jobs/{number}/ledger/").content.decode()
    monkeypatch.setattr("shop.jobs.ledger.hash_of", lambda row: "0" * 64)
    assert "The chain is broken" in hands.get(f"/jobs/{number}/ledger/").content.decode()


def test_markup_in_text_is_shown_as_text(hands, bench):
    nasty = "<script>alert(1)</script>\"'><img src=x>"
    number = bench.receive(make=nasty[:100], complaint=nasty)
    bench.record(number, "note_added", text=nasty)
    for path in ("/", "/jobs/", f"/jobs/{number}/", f"/jobs/{number}/ledger/"):
        text = hands.get(path).content.decode()
        assert "<script>alert" not in text
        assert "<img src=x" not in text


def test_pages_carry_a_strict_policy_and_no_inline_code(hands, number):
    for path in ("/", "/jobs/", f"/jobs/{number}/", "/receive/", "/rules/", "/sign-in/"):
        answer = hands.get(path)
        policy = answer["Content-Security-Policy"]
        assert "script-src 'self'" in policy
        assert "unsafe" not in policy
        text = answer.content.decode()
        assert not re.search(r"<script(?![^>]*\bsrc=)", text)
        assert not re.search(r"\s(style|on\w+)=", text)
        assert "hx-on" not in text


def shelve(bench, number):
    """To the shelf, waiting for a part on order."""
    bench.open_up(number)
    bench.record(number, "part_needed", spec=f"A relay for {number}")
    need = JobPart.objects.get(job=number)
    part, supplier = PartFactory(), Supplier.objects.earliest("pk")
    lines = [LineToOrder(part, 1, Decimal(2), (((number, need.need), 1),))]
    ordering.place(supplier, lines, by=bench.by, at=timezone.now())
    bench.stage(number, "awaiting_parts")


QUERIES = {
    "/": 23,
    "/jobs/": 6,
    "/jobs/{n}/": 9,
    "/backlog/": 25,
    "/flow/": 22,
    "/jobs/{n}/ledger/": 6,
}


@pytest.mark.parametrize("path", QUERIES)
def test_query_counts_are_those_of_one_job_for_thirty(
    hands, bench, number, path, steady_rules, django_assert_num_queries
):
    where = path.format(n=number)
    shelve(bench, bench.receive(facts=amplifier()))
    hands.get(where)
    with django_assert_num_queries(QUERIES[path]):
        hands.get(where)
    for place in range(29):
        other = bench.receive(facts=amplifier())
        if place % 3 == 0:
            bench.limited(other)
        elif place % 3 == 1:
            shelve(bench, other)
        bench.record(number, "note_added", text="more")
    with django_assert_num_queries(QUERIES[path]):
        hands.get(where)


def test_the_page_says_why_a_step_is_there_and_why_not(hands, number):
    there = hands.get(f"/jobs/{number}/why/?step=no-power-before-look-inside").content.decode()
    assert "is on the list" in there
    assert "&quot;burnt-smell&quot; in intake.damage" in there

    absent = hands.get(f"/jobs/{number}/why/?step=hot-chassis").content.decode()
    assert "is not on the list" in absent
    assert "unit.supply" in absent
    assert "transformerless" in absent
    assert hands.get(f"/jobs/{number}/why/?step=nonsense").status_code == 404
    assert hands.get(f"/jobs/{number}/why/").status_code == 404


def test_the_list_filters_and_htmx_gets_the_rows_alone(hands, bench, number):
    bench.stage(number, "reproducing")
    other = bench.receive()
    page = hands.get("/jobs/", {"stage": "reproducing"}, headers={"HX-Request": "true"})
    text = page.content.decode()
    assert "<html" not in text
    assert f'href="/jobs/{number}/"' in text
    assert f'href="/jobs/{other}/"' not in text
    assert (
        hands.get("/jobs/", {"stage": "nonsense", "sort": "nonsense", "page": "x"}).status_code
        == 200
    )
