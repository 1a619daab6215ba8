"""In which language somebody is written to, and reads their page."""

from __future__ import annotations

from contextlib import AbstractContextManager

from django.http import HttpRequest
from django.utils import translation

from shop.customers.models import Customer, Intake
from shop.jobs.models import Job
from shop.preferences import current as preferences


def language_of(customer: Customer | None) -> str:
    """Return the language of a customer: their own, else that of the shop's customers."""
    own = customer.language if customer else ""
    return own or str(preferences.value("customers_language"))


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


def read_by(request: HttpRequest, customer: Customer | None) -> str:
    """Return the language of a page for whoever opened it.

    What is on record for the customer, else what their browser asks for, else that of the shop's
    customers.
    """
    if customer is not None and customer.language:
        return customer.language
    if request.headers.get("Accept-Language"):
        return translation.get_language_from_request(request).partition("-")[0]
    return language_of(customer)
