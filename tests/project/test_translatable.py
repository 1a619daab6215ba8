"""Every word of a template can be translated."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.project.untranslated import TEMPLATES, all_templates, untranslated


@pytest.mark.parametrize("path", all_templates(), ids=lambda path: str(path.relative_to(TEMPLATES)))
def test_no_template_has_words_that_no_translation_reaches(path):
    assert list(untranslated(path)) == []


@pytest.mark.parametrize(
    ("source", "words"),
    [
        ("<p>Take it away.</p>", ["Take it away."]),
        ("<p>{% if sent %}Sent on {{ day }}.{% endif %}</p>", ["Sent on"]),
        ('<img alt="The board">', ["The board"]),
        ('<td data-label="Price">{{ price }}</td>', ["Price"]),
        ('<input placeholder="unit, serial">', ["unit, serial"]),
        ('{{ name|default:"nobody" }}', ["nobody"]),
        ('{{ names|join:" and " }}', [" and "]),
        ('{% include "_field.html" with title="Bill" %}', ["Bill"]),
    ],
)
def test_words_that_no_translation_reaches_are_found(tmp_path, source, words):
    assert list(untranslated(_template(tmp_path, source))) == words


@pytest.mark.parametrize(
    "source",
    [
        '{% load i18n %}<p>{% translate "Take it away." %}</p>',
        "{% blocktranslate with day=day %}Sent on {{ day }}.{% endblocktranslate %}",
        '{{ name|default:_("nobody") }}',
        '{% include "_field.html" with title=_("Bill") %}',
        "<p>{{ name }}, {{ number }}: 12 kHz</p>",
        "<code>manage.py export FILE</code>",
        "{# Words for whoever edits it. #}",
    ],
)
def test_what_can_be_translated_or_is_no_words_is_not(tmp_path, source):
    assert list(untranslated(_template(tmp_path, source))) == []


def _template(folder: Path, source: str) -> Path:
    path = folder / "page.html"
    path.write_text(source, encoding="utf-8")
    return path
