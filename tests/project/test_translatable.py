"""Every word of a template, and every sentence that the code says to people, can be translated."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.project import untranslated_code
from tests.project.untranslated import TEMPLATES, all_templates, untranslated
from tests.project.untranslated_code import SHOP, all_modules


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


@pytest.mark.parametrize("path", all_modules(), ids=lambda path: str(path.relative_to(SHOP)))
def test_no_sentence_of_the_code_escapes_translation(path):
    assert list(untranslated_code.untranslated(path.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize(
    ("source", "words"),
    [
        ('raise bad("make", "Make is empty.")', "Make is empty."),
        ('raise bad("make", f"{make} is empty.")', "{} is empty."),
        (
            'raise refuse("closed", "It is closed." if closed else _("It is open."))',
            "It is closed.",
        ),
        ('raise BadInput([("make", "Make is empty.")])', "Make is empty."),
        ('messages.success(request, "Kept {job}.".format(job=job))', "Kept {job}."),
        ('class F(forms.Form):\n    make = forms.CharField(label="Make")', "Make"),
        (
            'def f():\n    sentence = f"Job {job} is closed."\n    raise refuse("c", sentence)',
            "Job {} is closed.",
        ),
    ],
)
def test_a_sentence_that_escapes_is_found(source, words):
    assert [said for _, said in untranslated_code.untranslated(source)] == [words]


@pytest.mark.parametrize(
    "source",
    [
        'raise bad("make", _("Make is empty."))',
        'raise bad("make", _("{make} is empty.").format(make=make))',
        'raise bad("value", f"{title}: {wrong}")',
        'log.error("the mail server does not answer")',
        'def f():\n    sentence = _("Closed.")\n    raise refuse("closed", sentence)',
        'forms.CharField(label=_("Make"))',
    ],
)
def test_a_sentence_that_is_translated_or_no_sentence_is_not(source):
    assert list(untranslated_code.untranslated(source)) == []
