"""Manuals through the API: the rules, limits and refusals of the pages."""

from __future__ import annotations

import pytest
from django.test import Client

from shop.api.models import ApiToken
from shop.manuals.models import Manual, PageLink
from tests.api.conftest import caller_for
from tests.factories import PartFactory
from tests.manuals import pdfs

pytestmark = pytest.mark.django_db


@pytest.fixture
def send(people):
    def sent(raw, query, role="technician", **headers):
        token = ApiToken.make(people.named(role))
        answer = Client().post(
            f"/api/v1/manuals/{query}",
            raw,
            content_type="application/pdf",
            headers={"Authorization": f"Bearer {token}", **headers},
        )
        return answer.status_code, answer.json()

    return sent


@pytest.fixture
def manual(people):
    return pdfs.file_of_model(people.owner)


def test_a_file_of_a_model_is_kept_read_and_shown_on_its_jobs(send, api, bench):
    number = bench.receive(make="Corvenby", model="Spool 3")
    status, kept = send(pdfs.pdf("Bias", "Rail"), "?make=Corvenby&model=Spool 3&name=Spool.pdf")
    assert status == 201, kept
    assert (kept["title"], kept["pages"], kept["kind"]) == ("Spool", 2, "manual")
    assert [one["number"] for one in api.get("manuals/", job=number)[1]] == [kept["number"]]
    assert api.get("manuals/", make="Corvenby", model="Spool 4") == (200, [])
    answer = api.client.get(kept["address"], headers=api.headers)
    assert answer.status_code in (200, 302)


def test_a_file_of_a_job_and_one_of_a_part(send, api, bench, number):
    part, other = PartFactory(), bench.receive(make="Ravelund", model="Thatch 30")
    assert send(pdfs.pdf("Paper"), f"?job={number}&kind=paper&title=Receipt")[0] == 201
    assert send(pdfs.pdf("Sheet"), f"?part={part.pk}&kind=data-sheet")[0] == 201
    assert [one["kind"] for one in api.get("manuals/", job=number)[1]] == ["paper"]
    assert [one["part"] for one in api.get("manuals/", part=part.pk)[1]] == [part.pk]
    assert api.get("manuals/", job=other) == (200, [])


@pytest.mark.parametrize(
    "raw",
    [
        b"",
        b"no PDF",
        pdfs.pdf("Bias")[:200],
        pdfs.locked(needs_password=True),
    ],
    ids=["empty", "text", "cut", "locked"],
)
def test_what_is_no_pdf_that_is_taken_is_refused_with_a_sentence(send, raw):
    status, said = send(raw, "?make=M&model=X&name=bias.pdf")
    assert (status, said["problems"][0]["field"]) == (422, "file")
    assert "bias.pdf" in said["reason"]
    assert not Manual.objects.exists()


def test_a_file_that_is_too_large_is_refused_unread(send, settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000
    assert send(b"%PDF-" + b" " * 2000, "?make=M&model=X")[0] == 413


@pytest.mark.parametrize(
    ("query", "field"),
    [
        ("", "job"),
        ("?job=1&make=M&model=X", "job"),
        ("?make=M", "model"),
        ("?make=M&model=X&kind=song", "kind"),
    ],
)
def test_whose_it_is_and_what_it_is_must_be_clear(send, number, query, field):
    status, said = send(pdfs.pdf("Bias"), query)
    assert (status, said["problems"][0]["field"]) == (422, field)
    assert not Manual.objects.exists()


def test_what_it_belongs_to_must_be_there(send):
    for query in ("?job=987654", "?part=987654", f"?part={2**70}"):
        assert send(pdfs.pdf("Bias"), query)[0] == 404


def test_the_same_file_twice_is_one(send):
    raw = pdfs.pdf("Bias")
    assert send(raw, "?make=M&model=X")[0] == 201
    status, said = send(raw, "?make=M&model=X")
    assert status == 422
    assert "is here already" in said["reason"]
    rail, key = pdfs.pdf("Rail"), {"Idempotency-Key": "bias"}
    first, again = (send(rail, "?make=M&model=X", **key) for _ in range(2))
    assert first[1]["number"] == again[1]["number"]
    assert Manual.objects.count() == 2


def test_an_owner_takes_it_away_with_its_links(people, manual):
    owner = caller_for(people.owner)
    assert owner.delete(f"manuals/{manual.pk}/") == (204, None)
    assert (Manual.objects.count(), PageLink.objects.count()) == (0, 0)
    assert owner.get(f"manuals/{manual.pk}/")[0] == 404
    assert owner.delete(f"manuals/{2**70}/")[0] == 404


def test_a_page_is_shown_beside_a_step_and_no_longer(api, manual):
    body = {"page": 1, "beside": "step", "key": "fuse-check", "words": "Values"}
    status, made = api.post(f"manuals/{manual.pk}/links/", body)
    assert (status, made["key"], made["words"]) == (201, "fuse-check", "Values")
    links = api.get(f"manuals/{manual.pk}/")[1]["links"]
    assert {one["key"] for one in links} == {"visual-intake", "fuse-check"}
    assert api.delete(f"manuals/links/{made['id']}/") == (204, None)
    assert api.delete(f"manuals/links/{made['id']}/")[0] == 404
    assert {one.key for one in PageLink.objects.all()} == {"visual-intake"}


@pytest.mark.parametrize(
    ("wrong", "field"),
    [({"page": 2}, "page"), ({"key": "polish-it"}, "beside"), ({"beside": "shelf"}, "beside")],
)
def test_a_page_or_a_place_that_is_none_is_named(api, manual, wrong, field):
    body = {"page": 1, "beside": "step", "key": "fuse-check"} | wrong
    status, said = api.post(f"manuals/{manual.pk}/links/", body)
    assert (status, said["problems"][0]["field"]) == (422, field)
