"""Whatever somebody sends to the customer's page, it answers with a page and a sentence, never with 500."""

from __future__ import annotations

from urllib.parse import quote

import pytest
from django.test import Client
from django.urls import reverse
from hypothesis import given, settings
from hypothesis import strategies as st

from shop.customers.links import keys
from shop.pages.customer import views
from tests.estimates.test_services import line, sent
from tests.helpers_plain import examples

pytestmark = pytest.mark.django_db

ANSWERS = st.sampled_from(["yes", "no", "question", "sent", ""]) | st.text(max_size=12)
VERSIONS = st.sampled_from(["1", "2", "0", "-1", "1.0", "９", "1" * 40, ""]) | st.text(max_size=6)


@pytest.fixture
def token(bench, job, now, monkeypatch):
    monkeypatch.setattr(views, "allow", lambda *_, **__: True)
    sent(bench, job, line(), at=now)
    return keys.token(keys.link_for(bench.job(job), now=now))


@given(answer=ANSWERS, version=VERSIONS, note=st.text(max_size=40))
@settings(max_examples=examples(150))
def test_any_answer(token, answer, version, note):
    body = {"answer": answer, "version": version, "note": note}
    status = Client().post(reverse("your-answer", args=[token]), body).status_code
    assert status in (302, 409, 422)


@given(question=st.text(max_size=60))
@settings(max_examples=examples(100))
def test_any_question(token, question):
    answer = Client().post(reverse("your-question", args=[token]), {"question": question})
    assert answer.status_code in (302, 422)


@given(st.text(min_size=1, max_size=80).filter(lambda text: "/" not in text))
@settings(max_examples=examples(150))
def test_any_address(token, given_):
    path = "/your-unit/" + quote(given_, errors="replace") + "/"
    assert Client().get(path).status_code == 404
