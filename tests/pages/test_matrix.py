"""Every page for every role, for strangers, and for jobs that are not there."""

from __future__ import annotations

from contextlib import contextmanager
from decimal import Decimal

import pytest
from django.core.cache import cache
from django.db import transaction
from django.urls import URLPattern, URLResolver, get_resolver

from shop.bills.models import Bill
from shop.jobs.models import Job, JobPart
from shop.outlets.models import Outlet
from shop.parts.models import OrderLine, Supplier
from shop.planning import basket_proposals
from tests.pages.matrix import (
    ALL,
    BY_LINK,
    OF_ONE_PERSON,
    OPEN_TO_STRANGERS,
    VIEWS,
    WITHOUT_JOB,
    address,
)

pytestmark = pytest.mark.django_db


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


# What a page answers to a body that is allowed, where that is not a way to another page.
ANSWERED = {
    "house-check": 200,
    "customer-write": 409,
    "earlier-facts": 409,
    "soak-start": 409,
    "soak-over": 409,  # none runs
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


@contextmanager
def undone():
    """What happens inside leaves nothing behind."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)
    cache.clear()


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
