"""The words of the pack are in the catalogues, and a mark of a technician holds for what was read."""

from __future__ import annotations

import pytest
from babel.messages.catalog import Catalog

from checklists.engine.wording import READ, SAFETY, WORDS
from tests.project import catalogues, pack_catalogue
from tests.project.catalogues import TEMPLATE, read

ENGLISH, GERMAN = "Plug out.", "Stecker ziehen."


@pytest.fixture(scope="module")
def template():
    return read(TEMPLATE)


def test_every_word_of_the_pack_is_in_the_template(template):
    known = {message.id for message in template if pack_catalogue.is_of_pack(message)}
    assert known == {one.text for one in pack_catalogue.wordings()}


def test_a_safety_text_stands_under_its_own_context_alone(template):
    safety = {one.text for one in pack_catalogue.wordings() if one.safety}
    for message in template:
        if pack_catalogue.is_of_pack(message):
            assert (message.context == SAFETY) == (message.id in safety), message.id


def test_each_names_file_and_rule(template):
    named = {
        comment: [place for place, _ in message.locations]
        for message in template
        for comment in message.auto_comments
    }
    assert named["step verify-dead: instruction"] == ["checklists/packs/opening.toml"]
    assert named["fact unit.rail_volts: label"] == ["checklists/engine/wording.py"]


def _catalog(*comments, said=GERMAN, context=SAFETY):
    catalog = Catalog(locale="de", fuzzy=False)
    catalog.add(ENGLISH, said, context=context, user_comments=comments)
    return catalog


def _template(text=ENGLISH, context=SAFETY):
    catalog = Catalog()
    catalog.add(text, context=context)
    return catalog


def _updated(before, template=None):
    return pack_catalogue.kept(Catalog(locale="de"), before, template or _template())


def test_a_translation_is_kept_and_an_empty_line_is_not():
    assert _updated(_catalog()).get(ENGLISH, SAFETY).string == GERMAN
    assert len(_updated(_catalog(said=""))) == 0


def test_a_text_that_the_pack_no_longer_says_goes():
    assert len(_updated(_catalog(), _template("Plug in."))) == 0


def test_a_text_that_became_a_safety_text_has_to_be_translated_as_one():
    assert len(_updated(_catalog(context=WORDS))) == 0


def test_a_mark_is_sealed():
    message = _updated(_catalog("Read by Ada Example, 2031-04-02")).get(ENGLISH, SAFETY)
    assert message.user_comments == [
        f"Read by Ada Example, 2031-04-02: {pack_catalogue.sum_of(message)}"
    ]
    assert pack_catalogue.is_read(message)


def test_a_mark_falls_with_its_translation():
    sealed = _updated(_catalog("Read by Ada Example, 2031-04-02")).get(ENGLISH, SAFETY)
    changed = _catalog(*sealed.user_comments, said="Stecker stecken.")
    assert not pack_catalogue.is_read(changed.get(ENGLISH, SAFETY))
    assert _updated(changed).get(ENGLISH, SAFETY).user_comments == []


@pytest.mark.parametrize(
    "comment",
    [
        "",
        "Read by Ada Example",
        "Read by Ada Example, 2031-04-02",
        "Read by X, 2031-04-02: 00000000",
    ],
)
def test_what_is_no_sealed_mark_reads_nothing(comment):
    catalog = _catalog(comment)
    assert not pack_catalogue.is_read(catalog.get(ENGLISH, SAFETY))
    assert pack_catalogue.as_compiled(catalog).get(ENGLISH, READ) is None


def test_only_what_was_read_is_compiled():
    sealed = _updated(_catalog("Read by Ada Example, 2031-04-02"))
    compiled = pack_catalogue.as_compiled(sealed)
    assert compiled.get(ENGLISH, READ).string == GERMAN
    assert compiled.get(ENGLISH, SAFETY) is None


def test_other_words_are_compiled_as_they_are():
    compiled = pack_catalogue.as_compiled(_catalog(context=WORDS))
    assert compiled.get(ENGLISH, WORDS).string == GERMAN


def test_a_mark_survives_the_file(tmp_path):
    file = tmp_path / "django.po"
    sealed = _updated(_catalog("Read by Ada Example, 2031-04-02"))
    file.write_bytes(catalogues.written(sealed))
    assert pack_catalogue.is_read(catalogues.read(file, "de").get(ENGLISH, SAFETY))
