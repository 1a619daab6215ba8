"""Whatever the document allows, and what it does not, is answered as the document says.

Cases are drawn from openapi.json; `BENCHTAG_SEED` draws the same again.
"""

from __future__ import annotations

import os

import pytest
from django.core.signals import request_finished, request_started
from django.db import close_old_connections
from hypothesis import Phase, given, seed, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode, openapi
from schemathesis.checks import not_a_server_error
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from shop.api.models import ApiToken
from shop.api.urls import api as the_api
from shop.site.wsgi import application
from tests.helpers import amplifier
from tests.helpers_plain import examples

pytestmark = [pytest.mark.django_db, pytest.mark.random]
SEED = int(os.environ.get("BENCHTAG_SEED", "0"))
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]
CALLS = sorted(
    (verb, path)
    for path, verbs in the_api.get_openapi_schema(path_prefix="/api/v1/")["paths"].items()
    for verb in verbs
)
LONGEST_REFUSAL = 20_000


@pytest.fixture(scope="module")
def described():
    document = the_api.get_openapi_schema(path_prefix="/api/v1/")
    schema = openapi.from_dict(_with_text_keys(document))
    schema.app = application
    return schema


def _with_text_keys(value):
    """The document as JSON has it."""
    if isinstance(value, dict):
        return {str(key): _with_text_keys(inner) for key, inner in value.items()}
    return [_with_text_keys(inner) for inner in value] if isinstance(value, list) else value


@pytest.fixture(autouse=True)
def _one_connection():
    """The transaction of the test outlives its requests, as with Django's own client."""
    signals = (request_started, request_finished)
    for signal in signals:
        signal.disconnect(close_old_connections)
    yield
    for signal in signals:
        signal.connect(close_old_connections)


@pytest.fixture
def known(bench, people):
    """What exists, so that half of the cases get past 'there is none'."""
    return {"number": bench.receive(facts=amplifier()), "key": "earth-continuity"}


@pytest.mark.parametrize(("verb", "path"), CALLS)
@pytest.mark.parametrize("mode", [GenerationMode.POSITIVE, GenerationMode.NEGATIVE])
def test_every_call_answers_as_described(described, people, known, verb, path, mode):
    token = ApiToken.make(people.owner)
    operation = described[path][verb]
    if mode is GenerationMode.NEGATIVE and not _takes_anything(operation):
        pytest.skip("nothing to get wrong")

    @seed(SEED)
    @settings(max_examples=examples(30), phases=[Phase.generate], database=None)
    @given(case=operation.as_strategy(generation_mode=mode), there=st.booleans())
    def calling(case, there):
        if there:
            case.path_parameters.update(
                {name: value for name, value in known.items() if name in case.path_parameters}
            )
        # Plain: the client in this process opens nothing that is compressed.
        headers = {"Host": "localhost", "Accept-Encoding": "identity"}
        answer = case.call_and_validate(
            headers={**headers, "Authorization": f"Bearer {token}"}, checks=CHECKS
        )
        if answer.status_code >= 400:
            reason = answer.json()["reason"]
            assert reason.strip()
            assert len(answer.content) < LONGEST_REFUSAL

    print(f"seed {SEED}: BENCHTAG_SEED={SEED} draws the same cases again")
    calling()


def _takes_anything(operation):
    return bool(operation.body or operation.query or operation.path_parameters)
