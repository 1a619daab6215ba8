"""Under /api/ every refusal is JSON with a sentence, whatever the verb and however far it came."""

from __future__ import annotations

import pytest
from django.test import Client

pytestmark = pytest.mark.django_db
VERBS = ("GET", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE", "PROPFIND")


@pytest.fixture
def stranger():
    return Client(enforce_csrf_checks=True, raise_request_exception=False)


def told(answer, status):
    assert answer.status_code == status, answer.content[:200]
    assert answer.headers["Content-Type"].startswith("application/json")
    return answer.json()["reason"]


@pytest.mark.parametrize("verb", VERBS)
@pytest.mark.parametrize("path", ["/api/v1/nowhere/", "/api/v1/jobs/x/", "/api/v2/jobs/", "/api/"])
def test_an_unknown_address_is_404_for_every_verb(stranger, verb, path):
    assert told(stranger.generic(verb, path), 404) == f"There is nothing at '{path}'."


def test_a_long_address_is_quoted_short(stranger):
    path = "/api/v1/" + "x" * 5000
    assert len(told(stranger.post(path), 404)) < 300


def test_an_address_without_its_slash_is_told_so(stranger):
    assert told(stranger.post("/api/v1/jobs"), 404).endswith("Addresses end with a slash.")
    assert told(stranger.get("/api"), 404).endswith("Addresses end with a slash.")


def test_a_page_beside_the_api_stays_a_page(stranger):
    answer = stranger.get("/apixyz/")
    assert answer.status_code == 404
    assert answer.headers["Content-Type"].startswith("text/html")


@pytest.mark.parametrize("verb", ["PUT", "DELETE", "TRACE"])
def test_a_wrong_verb_names_the_right_ones(api, verb):
    answer = api.client.generic(verb, "/api/v1/jobs/", headers=api.headers)
    reason = told(answer, 405)
    assert answer.headers["Allow"] in reason


def test_a_session_without_its_csrf_token_is_told_what_to_send(people):
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(people.owner)
    reason = told(browser.post("/api/v1/jobs/", b"{}", content_type="application/json"), 403)
    assert "CSRF token" in reason
    assert "Bearer" in reason


def test_a_strange_host_is_a_sentence(stranger):
    told(stranger.get("/api/v1/jobs/", headers={"host": "elsewhere.example"}), 400)


def test_what_is_too_large_is_413(api, settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 1000
    status, answer = api.post("jobs/", raw=b'{"reference": "' + b"x" * 2000 + b'"}')
    assert (status, answer["reason"]) == (413, "The request is larger than 32 MB; send less.")


def test_an_error_of_the_shop_is_a_sentence_too(api, monkeypatch):
    monkeypatch.setattr("shop.jobs.queries.jobs", None)
    answer = api.client.get("/api/v1/jobs/", headers=api.headers)
    assert "is in its log" in told(answer, 500)
