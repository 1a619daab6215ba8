"""The words in the templates of papers are listed for translation, each once."""

from __future__ import annotations

import re
from datetime import UTC, datetime

import pytest
import typst
from django.utils import translation

from shop.bills import paper
from shop.bills import paper_words as bill_words
from shop.documents import paper_words, typesetting
from tests.project import catalogues

_QUOTED = r'"((?:[^"\\]|\\.)*)"'
FOLDERS = [
    pytest.param([typesetting.TEMPLATES], paper_words.WORDS, id="documents"),
    pytest.param([typesetting.TEMPLATES, paper.TEMPLATES], bill_words.WORDS, id="bills"),
]


def sources(folders):
    return "\n".join(path.read_text() for folder in folders for path in folder.glob("*.typ"))


def english(words):
    with translation.override(None):
        return [str(word) for word in words]


@pytest.mark.parametrize(("folders", "words"), FOLDERS)
def test_the_list_has_each_word_of_the_templates_and_no_other(folders, words):
    text, listed = sources(folders), english(words)
    assert len(listed) == len(set(listed))
    assert set(re.findall(rf"say\({_QUOTED}\)", text)) <= set(listed)
    assert set(listed) <= set(re.findall(_QUOTED, text))


def test_a_word_that_is_not_listed_stops_the_print():
    template = b'#import "common.typ": say\n#say("Nobody listed this")'
    files = {"main": template, "common.typ": (typesetting.TEMPLATES / "common.typ").read_bytes()}
    with pytest.raises(typst.TypstError, match="Nobody listed this"):
        typst.compile(files, sys_inputs={"data": '{"say": {"To pay": "Zu zahlen"}, "fonts": []}'})


def test_words_are_said_in_the_language_in_force():
    with translation.override("en"):
        assert paper_words.said(paper_words.WORDS)["What for"] == "What for"


@pytest.mark.parametrize("language", catalogues.LANGUAGES)
def test_the_faces_have_every_letter_of_the_translations(language, tmp_path):
    """A letter that no face has would stop every paper in that language."""
    (tmp_path / "strings.typ").write_text(
        '#import "common.typ": *\n#set text(font: body-faces, lang: data.lang)\n'
        "#for one in data.strings [#one *#one* #plate(9pt, one) \\ ]"
    )
    messages = catalogues.read(catalogues.po(language), language)
    texts = [one.string for one in messages if one.id and isinstance(one.string, str)]
    data = {"strings": [text for text in texts if text], "fonts": []}
    with translation.override(language):
        pdf = typesetting.compile_pdf(
            "strings", data, at=datetime(2031, 3, 2, tzinfo=UTC), templates=tmp_path
        )
    assert pdf.startswith(b"%PDF")
