"""Bills, credit notes and payments."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Annotated, Any, Literal

from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.utils.translation import gettext
from ninja import Router, Status
from pydantic import Field

from shop.api import schemas
from shop.api.app import on_job, person
from shop.api.estimates import EstimateLineIn
from shop.api.once import Replay, once
from shop.bills import einvoice, issuing, mailing, paper, payments, queries, services
from shop.bills.buyer import buyer_of
from shop.bills.models import Bill, Payment
from shop.lib.money import rounded
from shop.lib.refusals import refuse
from shop.messages.models import Message

router = Router(tags=["bills"])

Key = Annotated[int, Field(ge=1, lt=2**31)]


class BillLineIn(EstimateLineIn):
    """A line of a bill; freight and the inspection fee are kinds of their own."""

    sort: Literal["labour", "part", "freight", "inspection", "other"] = "labour"  # type: ignore[assignment]


class BillIn(schemas.Strict):
    """What stands on a draft; it takes the place of what stood there. Without lines they stay."""

    lines: list[BillLineIn] | None = Field(None, max_length=services.MOST_LINES)
    words: str = ""
    differs_because: str = ""
    delivered_on: date | None = None
    terms_days: int | None = Field(None, ge=0, le=services.MOST_DAYS)
    buyer_name: str = ""
    buyer_address: str = ""
    buyer_post_code: str = ""
    buyer_city: str = ""
    buyer_country: str = ""
    buyer_tax_number: str = ""
    untaxed_as: Literal["", "zero", "exempt", "reverse", "export", "outside", "union"] = ""
    untaxed_because: str = ""


class PaymentIn(schemas.Strict):
    """Money that came; below zero what went back. On a draft it is a deposit."""

    amount: Annotated[Decimal, Field(max_digits=14, decimal_places=3)]
    paid_on: date
    way: Literal["transfer", "cash", "card", "other"] = "transfer"
    note: str = ""


class PaymentOut(schemas.Strict):
    """A payment; the amount as text, exact."""

    amount: str
    paid_on: date
    way: str
    note: str


class CreditIn(schemas.Strict):
    """Why a bill is taken back; the draft has all its lines."""

    words: str = Field(min_length=1, max_length=services.LONGEST_WORDS)


class BillOut(schemas.Strict):
    """A bill or credit note; amounts as text, exact. A draft has no number, and `owed` of it is 0."""

    key: int
    job: int
    sort: Literal["bill", "credit"]
    number: str
    corrects: str
    state: str
    issued_on: date | None
    due_on: date | None
    delivered_on: date
    buyer: list[str]
    currency: str
    words: str
    differs_because: str
    untaxed_as: str
    untaxed_because: str
    lines: list[BillLineIn]
    net: str
    tax: str
    total: str
    paid: str
    credited: str
    owed: str
    payments: list[PaymentOut]


@router.get("bills/", response=list[BillOut])
def bills(
    request: HttpRequest,
    state: Literal["issued", "owed", "draft"] = "issued",
    limit: Annotated[int, Field(ge=1, le=500)] = 100,
) -> list[dict[str, Any]]:
    """List bills: those issued, newest first; those owed, the oldest due first; or drafts."""
    person(request)
    issued = queries.bills().filter(place__isnull=False).order_by("-year", "-place")
    found = {
        "issued": issued,
        "owed": queries.outstanding(),
        "draft": queries.bills().filter(place=None).order_by("pk"),
    }[state]
    return [_out(bill) for bill in found.prefetch_related("lines", "payments")[:limit]]


@router.get("jobs/{int:number}/bills/", response={200: list[BillOut], 404: schemas.Reason})
def of_job(request: HttpRequest, number: int) -> list[dict[str, Any]]:
    """List the bills and credit notes of a job, newest first, its draft included."""
    return [_out(bill) for bill in queries.of_job(on_job(request, number).job)]


@router.get("bills/{int:key}/", response={200: BillOut, 404: schemas.Reason})
def one(request: HttpRequest, key: Key) -> dict[str, Any]:
    """Return one bill."""
    person(request)
    return _out(_known(key))


def _again(replay: Replay) -> dict[str, Any]:
    return _out(_known(replay.kept))


@router.post("jobs/{int:number}/bills/", response={201: BillOut, **schemas.REFUSALS})
@once(kept=lambda answer: answer["key"], again=_again)
def draft(request: HttpRequest, number: int) -> Status[dict[str, Any]]:
    """Start the draft of a job from its agreement, work and parts; the one that is there comes back."""
    by, _, now = on_job(request, number, "bill")
    return Status(201, _fresh(services.get_or_create_draft(number, by=by, at=now)))


@router.put("jobs/{int:number}/bills/draft/", response={200: BillOut, **schemas.REFUSALS})
def save(request: HttpRequest, number: int, payload: BillIn) -> dict[str, Any]:
    """Keep what stands on the draft."""
    by, job, _ = on_job(request, number, "bill")
    bill = services.draft_of_job(job)
    if bill is None:
        raise services.no_draft()
    given = payload.dict(exclude={"lines"})
    for name in ("delivered_on", "terms_days"):
        given[name] = getattr(bill, name) if given[name] is None else given[name]
    lines = _lines(bill) if payload.lines is None else [line.dict() for line in payload.lines]
    return _fresh(services.save_draft(number, given, lines, by=by))


@router.post("jobs/{int:number}/bills/issue/", response={201: BillOut, **schemas.REFUSALS})
@once(kept=lambda answer: answer["key"], again=_again)
def issue(request: HttpRequest, number: int) -> Status[dict[str, Any]]:
    """Issue the draft: it gets its number and never changes."""
    by, _, now = on_job(request, number, "bill")
    return Status(201, _fresh(issuing.issue(number, by=by, at=now)))


@router.post("bills/{int:key}/payments/", response={201: BillOut, **schemas.REFUSALS})
@once(kept=lambda answer: answer["key"], again=_again)
def pay(request: HttpRequest, key: Key, payload: PaymentIn) -> Status[dict[str, Any]]:
    """Note a payment; it is never changed, a wrong one is taken back by one below zero."""
    by = person(request, "bill")
    payments.pay(_known(key).pk, **payload.dict(), by=by, at=timezone.now())
    return Status(201, _out(_known(key)))


@router.post("bills/{int:key}/credit/", response={201: BillOut, **schemas.REFUSALS})
@once(kept=lambda answer: answer["key"], again=_again)
def credit(request: HttpRequest, key: Key, payload: CreditIn) -> Status[dict[str, Any]]:
    """Start the credit note of a bill with all its lines; it is issued like a bill."""
    by = person(request, "bill")
    note = services.draft_credit(_known(key).pk, by=by, at=timezone.now(), words=payload.words)
    return Status(201, _fresh(note))


class SentOut(schemas.Strict):
    """How it goes to the customer: by e-mail, or by a hand of the shop."""

    way: Literal["email", "hand"]


def _sent_before(replay: Replay) -> dict[str, str]:
    return {"way": str(replay.kept)}


@router.post("bills/{int:key}/send/", response={201: SentOut, **schemas.REFUSALS})
@once(kept=lambda answer: answer["way"], again=_sent_before)
def send(request: HttpRequest, key: Key) -> Status[dict[str, str]]:
    """Put an issued bill in line for the customer."""
    by = person(request, "bill")
    return Status(201, _way(mailing.send(_known(key).pk, by=by, at=timezone.now())))


def _way(message: Message) -> dict[str, str]:
    return {"way": message.way}


def _file_of(media_type: str) -> dict[str, Any]:
    shape = {"schema": {"type": "string", "format": "binary"}}
    return {"responses": {200: {"description": "The file.", "content": {media_type: shape}}}}


_NO_FILE = {404: schemas.Reason, 409: schemas.Refusal409, 422: schemas.Refusal422}


@router.get(
    "bills/{int:key}/paper.pdf", response=_NO_FILE, openapi_extra=_file_of("application/pdf")
)
def pdf(request: HttpRequest, key: Key, size: Literal["a4", "us-letter"] = "a4") -> HttpResponse:
    """Return the paper of an issued bill: PDF/A-3 with the electronic invoice inside."""
    person(request)
    bill = _known(key)
    return _file(paper.pdf_of(bill, size), "application/pdf", paper.file_name(bill))


@router.get(
    "bills/{int:key}/invoice.xml", response=_NO_FILE, openapi_extra=_file_of("application/xml")
)
def xml(request: HttpRequest, key: Key) -> HttpResponse:
    """Return an issued bill as an electronic invoice (EN 16931, Factur-X)."""
    person(request)
    bill = _known(key)
    if not bill.issued:
        raise refuse("draft", gettext("A draft has no invoice; issue it first."))
    name = paper.file_name(bill).replace(".pdf", ".xml")
    return _file(einvoice.xml_of(bill), "application/xml", name)


def _file(content: bytes, media_type: str, name: str) -> HttpResponse:
    answer = HttpResponse(content, content_type=media_type)
    answer["Content-Disposition"] = f'attachment; filename="{name}"'
    return answer


def _known(key: int) -> Bill:
    bill = queries.bills().prefetch_related("lines", "payments").filter(pk=key).first()
    if bill is None:
        raise Http404(f"There is no bill {key}.")
    return bill


def _fresh(bill: Bill) -> dict[str, Any]:
    return _out(_known(bill.pk))


def _lines(bill: Bill) -> list[dict[str, Any]]:
    return [{name: getattr(line, name) for name in services.LINE} for line in bill.lines.all()]


_AS_IT_IS = (
    *("sort", "number", "issued_on", "due_on", "delivered_on", "currency", "words"),
    *("differs_because", "untaxed_as", "untaxed_because"),
)


def _out(bill: Any) -> dict[str, Any]:
    totals = bill.totals()
    sums = {name: _plain(getattr(bill, name), bill) for name in ("paid", "credited", "owed")}
    if bill.is_credit or not bill.issued:
        sums["owed"] = _plain(Decimal(0), bill)
    buyer = buyer_of(bill)
    return {
        **{name: getattr(bill, name) for name in _AS_IT_IS},
        **sums,
        "key": bill.pk,
        "job": bill.job_id,
        "corrects": bill.corrects.number if bill.corrects else "",
        "state": queries.state(bill, timezone.localdate()),
        "buyer": [buyer.name, *buyer.postal.lines()] if buyer.name else [],
        "lines": _lines(bill),
        "net": f"{totals.net:f}",
        "tax": f"{totals.gross - totals.net:f}",
        "total": f"{totals.gross:f}",
        "payments": [_payment(payment, bill) for payment in bill.payments.all()],
    }


def _payment(payment: Payment, bill: Bill) -> dict[str, Any]:
    names = ("paid_on", "way", "note")
    kept = {name: getattr(payment, name) for name in names}
    return kept | {"amount": _plain(payment.amount, bill)}


def _plain(amount: Decimal, bill: Bill) -> str:
    return f"{rounded(amount, bill.currency):f}"
