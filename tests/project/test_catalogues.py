"""The catalogues of translations hold all that customers read, whole and with the same places."""

from __future__ import annotations

import re
import shutil

import pytest
from django.utils import translation

from tests.project import catalogues
from tests.project.catalogues import LANGUAGES, ROOT, TEMPLATE, po, read, read_by_customers

_PLACES = re.compile(r"%\((\w+)\)s|\{([\w.]*)\}")


def _places(words: str) -> set[str]:
    return {match[1] or match[2] for match in _PLACES.finditer(words)}


def _forms(words) -> tuple[str, ...]:
    return (words,) if isinstance(words, str) else tuple(words)


@pytest.fixture(scope="module")
def strings():
    return [message for message in read(TEMPLATE) if message.id]


@pytest.mark.parametrize("language", LANGUAGES)
class TestLanguage:
    def test_has_all_that_customers_read(self, language, strings):
        kept = read(po(language), language)
        missing = [
            message.id
            for message in strings
            if read_by_customers(message)
            and not all(_forms((kept.get(message.id, message.context) or message).string))
        ]
        assert missing == []

    def test_has_nothing_that_the_project_does_not_say(self, language, strings):
        known = {(message.id, message.context) for message in strings}
        assert [
            message.id
            for message in read(po(language), language)
            if message.id and (message.id, message.context) not in known
        ] == []

    def test_keeps_the_places_for_values(self, language):
        for message in read(po(language), language):
            wanted = [_places(form) for form in _forms(message.id)]
            for form in _forms(message.string):
                if message.id and form:
                    assert _places(form) in wanted, message.id

    def test_is_compiled(self, language):
        catalog = read(po(language), language)
        assert po(language).with_suffix(".mo").read_bytes() == catalogues.compiled(catalog)

    def test_is_spoken(self, language):
        with translation.override(language):
            assert translation.gettext("A moment, please") != "A moment, please"


def test_a_string_that_lost_its_place_is_found():
    assert _places("Sent on %(day)s.") != _places("Gesendet am %(tag)s.")
    assert _places("{a} of {b}") == _places("{b} {a}")
    assert _places("At {unit.rail_volts}.") != _places("Bei {unit.spannung}.")


@pytest.mark.process
@pytest.mark.skipif(shutil.which("xgettext") is None, reason="GNU gettext is not installed")
def test_the_template_has_every_string(tmp_path, strings):
    for folder in ("shop", "templates", "checklists"):
        shutil.copytree(ROOT / folder, tmp_path / folder, ignore=shutil.ignore_patterns("*.mo"))
    shutil.copy(ROOT / "manage.py", tmp_path)
    catalogues.extract(tmp_path)
    found = catalogues.whole_template(tmp_path)
    assert {(m.id, m.context) for m in found if m.id} == {(m.id, m.context) for m in strings}
