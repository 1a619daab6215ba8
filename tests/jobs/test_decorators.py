"""Every page of one job is made by one decorator; what is refused comes back with what was typed."""

from __future__ import annotations

import pytest
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.test import RequestFactory
from django.urls import URLPattern, URLResolver, get_resolver

from shop.jobs.decorators import job_page
from shop.jobs.models import StaleJob
from shop.lib.refusals import BadInput, Forbidden, bad, refuse
from tests.helpers import amplifier

pytestmark = pytest.mark.django_db


def of_jobs(patterns, prefix=""):
    """Every page below an address of one job, but for the API and addresses that lead elsewhere."""
    for entry in patterns:
        place = prefix + str(entry.pattern)
        if isinstance(entry, URLResolver):
            if entry.namespace != "api":
                yield from of_jobs(entry.url_patterns, place)
        elif isinstance(entry, URLPattern) and entry.name and "jobs/<int:number>/" in place:
            yield entry.name, entry.callback


def test_every_page_of_a_job_is_a_job_page():
    pages = dict(of_jobs(get_resolver().url_patterns))
    assert len(pages) >= 30
    assert {name for name, view in pages.items() if not getattr(view, "of_job", False)} == set()
    assert {name for name, view in pages.items() if not getattr(view, "ability", "")} == set()


@pytest.fixture
def ask(people, bench):
    """Call a view as a page of a job that is there, or of another."""
    number = bench.receive(facts=amplifier())

    def call(view, on_error=None, *, by=people.technician, of=number, ability="note"):
        request = RequestFactory().post("/")
        request.user = by
        return job_page(ability, on_error=on_error)(view)(request, of)

    call.number = number
    return call


def typed_again(request, job, now, *, error):
    return HttpResponse(f"{job.number}: {error}")


def test_the_view_gets_the_job_and_the_time(ask):
    answer = ask(lambda request, job, now: HttpResponse(f"{job.number} {now:%Z} {job.waiting}"))
    assert answer.content.decode() == f"{ask.number} UTC hands"


@pytest.mark.parametrize("number", [0, 4711, 10**30])
def test_no_such_job_is_404(ask, number):
    with pytest.raises(Http404, match=f"There is no job {number}"):
        ask(typed_again, of=number)


def raises(error):
    def view(request, job, now):
        raise error

    return view


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (bad("note", "note is empty; write it down."), 422),
        (refuse("closed", "The job is closed."), 409),
        (StaleJob(5), 409),
    ],
)
def test_a_refusal_is_the_page_again_under_its_status(ask, error, status):
    answer = ask(raises(error), typed_again)
    assert answer.status_code == status
    assert answer.content.decode() == f"{ask.number}: {error}"


def test_the_page_after_a_refusal_shows_the_job_as_it_has_become(ask, bench):
    def view(request, job, now):
        bench.record(job.number, "complaint_recorded", text="Hums since Friday")
        raise refuse("stale", "It has changed.")

    answer = ask(view, lambda request, job, now, *, error: HttpResponse(job.complaint))
    assert answer.content == b"Hums since Friday"


def test_a_redirect_stays_one(ask):
    answer = ask(raises(bad("x", "No.")), lambda *_, error: redirect("/there/"))
    assert (answer.status_code, answer["Location"]) == (302, "/there/")


def test_without_a_page_to_show_it_the_error_goes_on(ask):
    with pytest.raises(BadInput):
        ask(raises(bad("x", "No.")))


def test_the_wrong_role_is_no_matter_of_typing_again(ask, people):
    with pytest.raises(Forbidden):
        ask(typed_again, typed_again, by=people.viewer)
    with pytest.raises(Forbidden):
        ask(raises(Forbidden("The step is the owner's.")), typed_again)


def test_what_is_no_refusal_is_not_hidden(ask):
    with pytest.raises(KeyError):
        ask(raises(KeyError("a fault of ours")), typed_again)
