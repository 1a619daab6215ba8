"""In which language somebody is written to, and reads their page."""

from __future__ import annotations

from contextlib import AbstractContextManager

from django.http import HttpRequest
from django.utils import translation
from django.utils.translation.trans_real import parse_accept_lang_header

from shop.customers.models import Customer, Intake
from shop.jobs.models import Job
from shop.preferences import current as preferences
from shop.preferences import languages


def language_of(customer: Customer | None) -> str:
    """Return the language of a customer: their own, else that of the shop's customers."""
    own = customer.language if customer else ""
    return own or usual_language()


def usual_language() -> str:
    """Return the language of the shop's customers."""
    return str(preferences.value("customers_language"))


def in_language_of(customer: Customer | None) -> AbstractContextManager[None]:
    """Return the block in which everything is said in the language of a customer."""
    return translation.override(language_of(customer))


def customer_of(job: Job) -> Customer | None:
    """Return whose unit it is; None where nobody is on record."""
    intake = Intake.objects.select_related("customer").filter(job=job).first()
    return intake.customer if intake else None


def in_language_of_job(job: Job) -> AbstractContextManager[None]:
    """Return the block in which everything is said in the language of the customer of a job."""
    return in_language_of(customer_of(job))


def read_by(request: HttpRequest, on_record: str) -> str:
    """Return the language of a page for whoever opened it.

    What is on record for the customer (empty for none), else the first that their browser asks for
    and there is, else that of the shop's customers.
    """
    if on_record in languages.NAMES:
        return on_record
    asked = parse_accept_lang_header(request.headers.get("Accept-Language", "").lower())
    wanted = (code.partition("-")[0] for code, quality in asked if quality)
    return next((code for code in wanted if code in languages.NAMES), usual_language())
