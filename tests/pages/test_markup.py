"""The markup that browsers get: whole, no id twice, nothing that the policy for scripts stops.

The linter reads templates one by one; what several of them make together shows on the page alone.
"""

from __future__ import annotations

from collections import Counter

import pytest
from justhtml import JustHTML

from tests.helpers import TestPeople
from tests.helpers_pages import addresses

WITHOUT_SIGN_IN = ("/sign-in/", "/nowhere/")


def faults(text):
    """What is wrong with a page, in a line for each."""
    page = JustHTML(text, sanitize=False, collect_errors=True)
    ids = Counter(element.attrs["id"] for element in page.query("[id]"))
    return [
        *(str(error) for error in page.errors),
        *(f"id {name} stands {count} times" for name, count in ids.items() if count > 1),
        *(line for element in page.query("*") for line in inline(element)),
        *(
            f"label for {label.attrs['for']}: there is no such field"
            for label in page.query("label[for]")
            if label.attrs["for"] not in ids
        ),
    ]


def inline(element):
    for name in element.attrs:
        if name == "style" or name.startswith("on"):
            yield f"<{element.name}> has {name}"
    data = element.attrs.get("type") == "application/json" or "src" in element.attrs
    if element.name == "style" or (element.name == "script" and not data):
        yield f"<{element.name}> has its code on the page"


def test_every_page_is_whole(client, demo_shop):
    people = TestPeople.make()
    found = {}
    for path in WITHOUT_SIGN_IN:
        found[path] = faults(client.get(path).content.decode())
    client.force_login(people.owner)
    for name, path in addresses(people.technician).items():
        answer = client.get(path)
        assert answer.status_code == 200, name
        found[name] = faults(answer.content.decode())
    assert {name: lines for name, lines in found.items() if lines} == {}


@pytest.mark.parametrize(
    ("markup", "wanted"),
    [
        ("<p>a</i></p>", "unexpected-end-tag"),
        ("<p id=a></p><p id=a></p>", "id a stands 2 times"),
        ("<p onclick='x()'></p>", "<p> has onclick"),
        ("<p style='color: red'></p>", "<p> has style"),
        ("<script>x()</script>", "<script> has its code on the page"),
        ("<label for=a>A</label>", "label for a: there is no such field"),
    ],
)
def test_a_fault_would_be_found(markup, wanted):
    page = f"<!doctype html><html><head><title>t</title></head><body>{markup}</body></html>"
    [fault] = faults(page)
    assert wanted in fault
