"""The document is valid OpenAPI 3.1, and says which words are taken and what every call may refuse."""

from __future__ import annotations

import pytest
from jsonschema import Draft202012Validator, ValidationError
from openapi_spec_validator import OpenAPIV31SpecValidator

from checklists.engine.vocabulary import VOCABULARY
from shop.jobs import events
from shop.jobs.stages import Cover, Power, Stage
from tests.helpers import amplifier

pytestmark = pytest.mark.django_db


@pytest.fixture
def document(client):
    answer = client.get("/api/v1/openapi.json")
    assert answer.status_code == 200
    return answer.json()


@pytest.fixture
def checker(document):
    """A validator for one named shape of the document."""

    def check(name):
        whole = {"$ref": f"#/components/schemas/{name}", "components": document["components"]}
        return Draft202012Validator(whole)

    return check


def test_the_document_is_valid(document):
    assert list(OpenAPIV31SpecValidator(document).iter_errors()) == []
    for shape in document["components"]["schemas"].values():
        Draft202012Validator.check_schema(shape)


def test_no_two_bodies_share_a_name(document):
    """A later one would take the place of the first, and the document describe the wrong body."""
    shapes = document["components"]["schemas"]
    assert {"part", "quantity", "price", "needs"} == shapes["LineIn"]["properties"].keys()
    assert "tax_rate" in shapes["EstimateLineIn"]["properties"]
    assert shapes["EstimateIn"]["properties"]["lines"]["items"]["$ref"].endswith("EstimateLineIn")


@pytest.mark.parametrize(
    ("body", "field", "words"),
    [
        ("PowerIn", "to", Power),
        ("CoverIn", "to", Cover),
        ("StageIn", "to", Stage),
        ("SignIn", "result", ("pass", "fail", "not-applicable")),
        ("GivenUpIn", "why", ("lost", "wrong", "cancelled")),
        ("JobOut", "stage", Stage),
        ("JobOut", "power", Power),
    ],
)
def test_words_of_closed_lists_are_named(document, body, field, words):
    shape = document["components"]["schemas"][body]["properties"][field]
    assert shape["enum"] == [str(word) for word in words]


def test_kinds_of_rows_and_facts_are_named(document):
    shapes = document["components"]["schemas"]
    kinds = shapes["RowIn"]["discriminator"]["mapping"].keys()
    assert kinds == {event.event_type for event in events.written_by_people()}
    told = {name for name, fact in VOCABULARY.items() if not fact.computed}
    assert set(shapes["FactRecorded"]["properties"]["name"]["enum"]) == told
    facts = shapes["JobIn"]["properties"]["facts"]["properties"]
    assert facts.keys() == told | {"findings", "work"}
    assert facts["unit.protective_class"]["enum"] == ["I", "II", "III"]


def test_the_facts_of_an_amplifier_fit_and_a_wrong_word_does_not(checker):
    body = {"unit": {"make": "M"}, "facts": amplifier()}
    checker("JobIn").validate(body)
    for wrong in ({"unit.protective_class": "IV"}, {"unit.colour": "red"}):
        with pytest.raises(ValidationError):
            checker("JobIn").validate({**body, "facts": wrong})


def test_a_finish_range_is_described_as_it_is_answered(checker, api, number):
    status, answer = api.get(f"jobs/{number}/finish/")
    assert status == 200
    checker("FinishOut").validate(answer)
    spans = {"half": ["2026-01-02", "2026-01-05"], "most": ["2026-01-02", "2026-01-09"]}
    checker("FinishOut").validate({**answer, **spans})
    with pytest.raises(ValidationError):
        checker("FinishOut").validate({**answer, "half": ["2026-01-02"]})


def test_each_call_says_what_it_may_refuse(document):
    for path, verbs in document["paths"].items():
        for verb, operation in verbs.items():
            wanted = {"401", "403", "503"}
            if verb != "get":
                wanted |= {"413", "422"}
            if "{number}" in path:
                wanted |= {"404"}
            missing = wanted - operation["responses"].keys()
            assert not missing, (verb, path, missing)


def test_each_post_takes_a_key_and_nothing_else_does(document):
    for path, verbs in document["paths"].items():
        for verb, operation in verbs.items():
            taken = [one["name"] for one in operation.get("parameters", [])]
            assert ("Idempotency-Key" in taken) == (verb == "post"), path
