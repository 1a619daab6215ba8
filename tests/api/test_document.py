"""The calls of docs/api.md are made, and answer what stands there."""

from __future__ import annotations

import json
import re

import pytest
from django.conf import settings

pytestmark = pytest.mark.django_db

_PAIR = re.compile(r"```http\n(\w+) (\S+)\n(.*?)```\s+```json\n(\d+)\n(.*?)```", re.S)


def walk():
    text = (settings.ROOT / "docs" / "api.md").read_text(encoding="utf-8")
    return [
        (verb, path, json.loads(body) if body.strip() else None, int(status), json.loads(answer))
        for verb, path, body, status, answer in _PAIR.findall(text)
    ]


def holds(answer, wanted, where="answer"):
    """The answer has at least what is wanted, all the way down."""
    if isinstance(wanted, dict):
        for key, value in wanted.items():
            holds(answer[key], value, f"{where}.{key}")
    elif isinstance(wanted, list) and wanted and isinstance(wanted[0], dict):
        for one in wanted:
            assert any(fits(other, one) for other in answer), f"{where} has no {one}"
    else:
        assert answer == wanted, where


def fits(answer, wanted):
    return all(answer.get(key) == value for key, value in wanted.items())


def test_the_document_has_its_walk():
    assert len(walk()) >= 10
    text = (settings.ROOT / "docs" / "api.md").read_text(encoding="utf-8")
    assert text.count("```http") == len(walk()), "a call without an answer to it"


def test_every_call_answers_what_stands_there(client, people):
    client.force_login(people.technician)
    numbers = {}
    for verb, path, body, status, wanted in walk():
        # The first job of the document is the first of this test, whatever its number is here.
        path = path.replace("/jobs/1/", f"/jobs/{numbers.get(1, 0)}/")
        if body is None:
            answer = client.generic(verb, path)
        else:
            answer = client.generic(verb, path, json.dumps(body), "application/json")
        told = answer.json()
        assert answer.status_code == status, (verb, path, told)
        if path.endswith("/jobs/") and status == 201:
            numbers[1] = told["number"]
        holds(told, _renumbered(wanted, numbers), f"{verb} {path}")


def _renumbered(wanted, numbers):
    text = json.dumps(wanted).replace('"number": 1', f'"number": {numbers.get(1, 1)}')
    return json.loads(text)
