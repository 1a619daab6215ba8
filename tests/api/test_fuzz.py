"""Whatever is sent, the API answers with JSON and a sentence, never with 500."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from checklists.engine.vocabulary import VOCABULARY
from shop.jobs import events
from tests.api.conftest import caller_for
from tests.helpers import amplifier
from tests.helpers_plain import examples

KINDS = [event.event_type for event in events.written_by_people()]
WORDS = st.sampled_from(
    [
        *KINDS, *VOCABULARY, "pass", "fail", "limited", "full", "isolated", "on", "off", "opened",
        "kind", "data", "unit", "facts", "result", "readings", "quantity", "value", "to", "need",
        "spec", "conditions", "fault", "finding", "work", "earth_ohms", "warm", "released",
    ]
)  # fmt: skip
LEAVES = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.integers(-(10**40), 10**40)
    | st.floats()
    | st.text(max_size=20)
    | WORDS
)
ANYTHING = st.recursive(
    LEAVES,
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(WORDS | st.text(max_size=8), inner, max_size=5)
    ),
    max_leaves=12,
)
ROWS = st.fixed_dictionaries(
    {"kind": st.sampled_from(sorted(KINDS)), "data": st.dictionaries(WORDS, ANYTHING, max_size=4)}
)
BODIES = {
    "jobs/": st.fixed_dictionaries({"unit": st.just({})}, optional={"facts": ANYTHING}) | ANYTHING,
    "jobs/{n}/ledger/": ROWS | ANYTHING,
    "jobs/{n}/power/": st.fixed_dictionaries({"to": LEAVES}) | ANYTHING,
    "jobs/{n}/cover/": st.fixed_dictionaries({"to": LEAVES}) | ANYTHING,
    "jobs/{n}/stage/": st.fixed_dictionaries({"to": LEAVES}) | ANYTHING,
    "jobs/{n}/steps/earth-continuity/sign/": st.fixed_dictionaries(
        {
            "result": st.sampled_from(["pass", "fail", "not-applicable"]),
            "readings": st.lists(
                st.fixed_dictionaries({"quantity": WORDS, "value": LEAVES}), max_size=3
            ),
        },
        optional={"note": LEAVES, "seen": LEAVES, "substance": LEAVES},
    )
    | ANYTHING,
    "jobs/{n}/steps/earth-continuity/waive/": ANYTHING,
    "jobs/{n}/estimates/": st.fixed_dictionaries(
        {
            "lines": st.lists(
                st.fixed_dictionaries(
                    {"words": LEAVES, "price": LEAVES},
                    optional={
                        "sort": st.sampled_from(["labour", "part", "other"]) | LEAVES,
                        "quantity": LEAVES,
                        "tax_rate": LEAVES,
                        "need": LEAVES,
                        "work": LEAVES,
                    },
                ),
                max_size=3,
            )
        },
        optional={"words": LEAVES},
    )
    | ANYTHING,
    "backlog/orders/": st.fixed_dictionaries(
        {"supplier": LEAVES, "lines": st.lists(ANYTHING, max_size=2)}
    )
    | ANYTHING,
    "backlog/orders/1/arrived/": st.fixed_dictionaries(
        {"lines": st.dictionaries(st.text(max_size=4), LEAVES, max_size=2)}
    )
    | ANYTHING,
}


@pytest.mark.parametrize("path", BODIES)
@given(data=st.data())
@settings(max_examples=examples(120))
def test_no_body_makes_the_api_fall_over(people, bench, path, data):
    if not hasattr(people, "fuzzed"):
        people.fuzzed = bench.receive(facts=amplifier())
        people.caller = caller_for(people.owner)
    body = data.draw(BODIES[path])
    raw = json.dumps(body).encode("utf-8", "surrogatepass")

    status, answer = people.caller.post(path.format(n=people.fuzzed), raw=raw)

    assert status in (200, 201, 404, 409, 422), (status, answer)
    if status >= 400:
        assert answer["reason"].strip()


@given(
    query=st.dictionaries(
        st.sampled_from(["stage", "power", "waiting_on", "before", "limit"]), st.text(max_size=12)
    )
)
@settings(max_examples=examples(80))
def test_no_query_makes_the_list_fall_over(people, query):
    if not hasattr(people, "caller"):
        people.caller = caller_for(people.owner)
    status, _ = people.caller.get("jobs/", **query)
    assert status in (200, 422)
