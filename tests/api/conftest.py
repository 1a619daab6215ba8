from __future__ import annotations

import json
from typing import Any

import pytest
from django.test import Client

from shop.api.models import ApiToken
from tests.helpers import amplifier


class Caller:
    """A program with a token: short verbs that return (status, JSON)."""

    def __init__(self, token: str = "", **extra: Any) -> None:
        self.client = Client(raise_request_exception=False)
        self.headers = {"Authorization": f"Bearer {token}"} if token else {}

    def get(self, path: str, **query: Any):
        answer = self.client.get(f"/api/v1/{path}", query, headers=self.headers)
        return answer.status_code, answer.json()

    def post(self, path: str, body: Any = None, *, raw: bytes | None = None):
        content = raw if raw is not None else json.dumps(body if body is not None else {})
        answer = self.client.post(
            f"/api/v1/{path}", content, content_type="application/json", headers=self.headers
        )
        return answer.status_code, answer.json()

    def put(self, path: str, body: Any):
        answer = self.client.put(
            f"/api/v1/{path}", json.dumps(body), "application/json", headers=self.headers
        )
        return answer.status_code, answer.json()

    def patch(self, path: str, body: Any):
        answer = self.client.patch(
            f"/api/v1/{path}", json.dumps(body), "application/json", headers=self.headers
        )
        return answer.status_code, answer.json()

    def delete(self, path: str, body: Any = None):
        answer = self.client.delete(f"/api/v1/{path}", headers=self.headers)
        return answer.status_code, answer.json() if answer.content else None


def caller_for(user) -> Caller:
    return Caller(ApiToken.make(user))


@pytest.fixture
def api(people):
    return caller_for(people.technician)


@pytest.fixture
def number(api):
    status, job = api.post("jobs/", {"unit": {"make": "M", "model": "X"}, "facts": amplifier()})
    assert status == 201
    return job["number"]
