"""What is kept of a page is what would be made of it now, and holds nothing of a request."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from functools import cache
from pathlib import Path

import pytest
from django.template.loader import render_to_string
from django.utils import timezone as clock
from django.utils import translation
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy
from hypothesis import given
from hypothesis import strategies as st

from shop.jobs.models import Job
from shop.lib.web import kept
from shop.site.places import TEMPLATES

WRITES = """{% load i18n %}{{ value }}|{{ value|escape }}|{{ value.number|date:"Y-m-d H:i T" }}|{{ more }}
{{ value.0 }}{{ value.0.0 }}{{ value.words }}{% translate "Sign out" %} {% if value is True %}!{% endif %}
"""
ASKED = re.compile(r"""{% kept "([^"]+)" """)
INCLUDED = re.compile(r"""{% (?:include|extends) "([^"]+)" """)
# The parts that Python makes.
BY_PYTHON = {
    "_menu.html",
    "_thumb_bar.html",
    "_job_tabs.html",
    "_job_more.html",
    "_live_units.html",
    "timers/_start.html",
}
# A token is filled in by each page; a part that asks what time it is would tell an old one.
OF_REQUESTS = re.compile(r"\b(?:request|messages|user|perms|may|tours|next|now|timezone)\b")
AT = datetime(2031, 3, 1, 9, 30, tzinfo=UTC)


@dataclass(frozen=True)
class Slip:
    """A value with values."""

    number: object
    words: str


@dataclass
class Changing:
    """No value."""

    number: int


# Many are equal to each other, and are written otherwise.
PLAIN = st.sampled_from(
    [
        *(None, True, 1, 1.0, Decimal(1), Decimal("1.0"), "1", False, 0, 0.0, -0.0, "", "<b>", "é"),
        *(
            SafeString("<b>"),
            SafeString(""),
            gettext_lazy("Sign out"),
            "Sign out",
            date(2031, 3, 1),
        ),
        *(AT, AT.astimezone(timezone(timedelta(hours=5))), AT.replace(tzinfo=None)),
        *(Slip(1, "a"), Slip(True, "a"), Slip(1, SafeString("a")), Slip(AT, "a")),
    ]
)
VALUES = st.one_of(PLAIN, st.tuples(PLAIN), st.tuples(PLAIN, PLAIN), st.tuples(st.tuples(PLAIN)))
SEEN = st.tuples(st.sampled_from(["en", "de"]), st.sampled_from(["UTC", "Asia/Tokyo"]), VALUES)


@pytest.fixture
def template(tmp_path, settings):
    (tmp_path / "part.html").write_text(WRITES)
    settings.TEMPLATES = [{**settings.TEMPLATES[0], "DIRS": [tmp_path]}]


@given(pages=st.lists(SEEN, min_size=2, max_size=12))
def test_what_is_kept_is_what_would_be_made(template, pages):
    for language, zone, value in pages:
        with translation.override(language), clock.override(zone):
            shown = kept.part("part.html", {"value": value}, lambda: {"more": "more"})
            made = render_to_string("part.html", {"value": value, "more": "more"})
        assert shown == made.strip()


def test_it_is_made_once_for_the_same_values_and_again_for_others(template):
    made = []

    def more():
        made.append(1)
        return {}

    for value in (("a", 1), ("a", 1), ("a", 2), ("a", 1)):
        kept.part("part.html", {"value": value}, more)
    assert len(made) == 2
    kept.part("part.html", {"values": ("a", 1)}, more)
    assert len(made) == 3


@pytest.mark.parametrize("value", [[1], {"a": 1}, Changing(1), Job(number=1), (1, [2]), {1}])
def test_what_may_change_is_no_value(template, value):
    with pytest.raises(TypeError, match="may change, so nothing is kept by it"):
        kept.part("part.html", {"value": value})


def test_the_parts_that_were_used_last_are_kept(template, monkeypatch):
    kept.forget()
    kept.part("part.html", {"value": "0"})
    monkeypatch.setattr(kept, "MOST", 2 * kept._parts._size)
    kept.forget()
    made = []
    for value in "0102":
        kept.part("part.html", {"value": value}, lambda value=value: made.append(value) or {})
    assert made == ["0", "1", "2"]
    kept.part("part.html", {"value": "0"}, lambda: made.append("0 again") or {})
    kept.part("part.html", {"value": "1"}, lambda: made.append("1 again") or {})
    assert made == ["0", "1", "2", "1 again"]


def test_what_a_part_is_found_by_counts_too(template):
    kept.forget()
    kept.part("part.html", {"value": "0"})
    before = kept._parts._size
    kept.part("part.html", {"value": "1", "more": "x" * 1000})
    assert kept._parts._size > 2 * before + 900


def test_a_form_has_the_token_of_the_page_it_is_on_and_none_is_kept(tmp_path, settings):
    (tmp_path / "form.html").write_text("<form>{% csrf_token %}</form>{{ value }}")
    settings.TEMPLATES = [{**settings.TEMPLATES[0], "DIRS": [tmp_path]}]
    kept.forget()
    field = '<input type="hidden" name="csrfmiddlewaretoken" value="{}">'
    for token in ("first", "second", "first", ""):
        shown = kept.part("form.html", {"value": "x"}, token=token)
        assert shown == f"<form>{field.format(token)}</form>x"
        assert isinstance(shown, SafeString)
    [(stored, _)] = kept._parts._parts.values()
    assert "first" not in stored
    assert "second" not in stored


def test_a_token_is_not_asked_for_where_there_is_no_form(template):
    class Asked:
        def __str__(self):
            raise AssertionError("a page without a form needs no cookie for one")

    assert "x" in kept.part("part.html", {"value": "x"}, token=Asked())


@cache
def text(name):
    return (Path(TEMPLATES) / name).read_text()


def with_included(name):
    return {name}.union(*(with_included(one) for one in INCLUDED.findall(text(name))))


def parts():
    pages = Path(TEMPLATES).rglob("*.html")
    asked = {name for page in pages for name in ASKED.findall(page.read_text())}
    return sorted(asked | BY_PYTHON)


@pytest.mark.parametrize("part", parts())
def test_a_part_asks_for_nothing_of_a_request(part):
    for name in with_included(part):
        tags = " ".join(re.findall(r"{[{%](.*?)[}%]}", text(name)))
        assert not OF_REQUESTS.search(tags), f"{part} shows {name}"
