"""Counting in a cache, and going on while it is away."""

from __future__ import annotations

import pytest
from django.core.cache import cache
from django.test import Client

from shop.lib.caches import ForgetfulCache
from shop.lib.limits import allow

NOWHERE = "redis://127.0.0.1:1/0"


@pytest.fixture
def away():
    return ForgetfulCache(NOWHERE, {})


def test_a_cache_that_is_away_is_an_empty_one(away, caplog):
    assert away.get("a", 5) == 5
    assert away.add("a", 1) is True
    assert away.set("a", 1) is None
    assert away.delete("a") is False
    with pytest.raises(ValueError, match="not there"):
        away.incr("a")
    assert "the cache is away" in caplog.text


def test_so_many_and_no_more():
    assert [allow("x", 2, seconds=60) for _ in range(4)] == [True, True, False, False]
    assert allow("y", 2, seconds=60)


def test_what_cannot_be_counted_is_let_through(away, monkeypatch):
    for name in ("add", "incr", "set"):
        monkeypatch.setattr(cache, name, getattr(away, name))
    assert [allow("x", 1, seconds=60) for _ in range(3)] == [True, True, True]


def test_people_sign_in_while_redis_is_away(db, people, settings):
    people.technician.set_password("four-words-of-bench")
    people.technician.save()
    settings.CACHES = {
        "default": {"BACKEND": "shop.lib.caches.ForgetfulCache", "LOCATION": NOWHERE}
    }
    body = {"username": "technician", "password": "four-words-of-bench"}
    assert Client().post("/sign-in/", body)["Location"] == "/"


def test_a_form_without_its_token_says_what_to_do(db):
    answer = Client(enforce_csrf_checks=True).post("/sign-in/", {"username": "x"})
    assert answer.status_code == 403
    assert "nothing was changed" in answer.content.decode()
