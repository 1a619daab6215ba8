"""Who may read and write which page, and what each answers."""

from __future__ import annotations

from django.contrib.auth.models import User
from django.urls import reverse

from shop.accounts.models import AccountLink
from shop.bills.models import Bill
from shop.customers.announced.models import Announcement
from shop.customers.models import Customer
from shop.instruments.models import Instrument
from shop.jobs.models import Job, JobPart
from shop.manuals.models import Manual, PageLink
from shop.messages.models import Message
from shop.model_sheets.models import ModelSheet
from shop.outlets.models import Outlet
from shop.parts.models import Order, Part, Supplier
from shop.photos.models import Photo, PhotoMark
from shop.sound.models import SoundInput
from shop.timers.models import Timer
from shop.webhooks.models import Endpoint

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
    "soak-over": (None, HANDS, {}),
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
