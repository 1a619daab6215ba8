"""Words of the pack on a page: translated, but for a safety text that no technician has read."""

from __future__ import annotations

import pytest
from django.utils import translation
from django.utils.safestring import SafeString

from checklists import published
from checklists.engine.cel import Outcome
from checklists.engine.reasons import Reason
from checklists.engine.wording import is_guarding
from shop.lib import pack_words
from tests.helpers_pack_words import pseudo, speak, translated

OTHER_RULE = "What the shop wrote for itself."


@pytest.fixture
def pack():
    return published.shipped()


@pytest.fixture
def held(pack):
    return next(step for step in pack.steps.values() if step.hold and step.caution)


@pytest.fixture
def service(pack):
    return next(step for step in pack.steps.values() if not is_guarding(step))


@pytest.fixture
def quoting(pack):
    """Return a rule whose reason quotes facts and is no safety text."""
    return next(
        rule
        for rule in pack.rules
        if "{" in rule.because and not any(is_guarding(pack.steps[key]) for key in rule.require)
    )


@pytest.fixture
def unread(settings, tmp_path):
    speak(settings, tmp_path, translated())
    with translation.override("de"):
        yield


@pytest.fixture
def read(settings, tmp_path):
    speak(settings, tmp_path, translated(read_by="Ada Example"))
    with translation.override("de"):
        yield


def test_english_pages_say_them_as_they_are(held, service):
    for text in (held.title, held.instruction, service.title, OTHER_RULE):
        assert pack_words.pack_words(text) == text
        assert not isinstance(pack_words.pack_words(text), SafeString)


def test_a_title_of_a_service_step_is_translated(unread, service):
    assert pack_words.pack_words(service.title) == pseudo(service.title)
    assert pack_words.pack_text(service.title) == pseudo(service.title)


def test_a_safety_text_stays_english_and_is_marked(unread, held, service):
    for text in (held.title, held.instruction, held.caution.text, service.instruction):
        assert pack_words.pack_text(text) == text
        assert '<span lang="en" class="not-read">' in pack_words.pack_words(text)


def test_a_safety_text_that_was_read_is_translated(read, held):
    for text in (held.title, held.instruction, held.caution.text):
        assert pack_words.pack_words(text) == pseudo(text)


def test_what_nobody_translated_is_marked_as_english_without_a_note(settings, tmp_path, service):
    speak(settings, tmp_path, type(translated())(locale="de", fuzzy=False))
    with translation.override("de"):
        said = pack_words.pack_words(service.title)
    assert said.startswith('<span lang="en">')
    assert "not-read" not in said


def test_house_rules_stay_as_they_were_written(unread):
    assert pack_words.pack_words(OTHER_RULE) == OTHER_RULE


def test_what_stands_in_a_text_is_escaped(unread, monkeypatch, pack):
    texts = pack_words._Texts([])
    texts.every = texts.safety = frozenset(["a < b"])
    monkeypatch.setattr(pack_words, "_of_pack", lambda: texts)
    assert "a &lt; b" in pack_words.pack_words("a < b")


def _facts(rule):
    names = pack_words.QUOTED_FACT.findall(rule.because)
    return dict.fromkeys(names)


def test_a_reason_has_its_facts_in_either_language(unread, quoting):
    reason = Reason(quoting, Outcome.HIT, _facts(quoting), frozenset())
    said = pack_words.pack_reason(reason)
    assert said.startswith("«")
    assert "{" not in said
    assert "(not recorded)" in said


def test_a_reason_says_what_is_not_recorded(unread, quoting):
    reason = Reason(quoting, Outcome.UNDETERMINED, _facts(quoting), frozenset(["unit.kind"]))
    assert pack_words.pack_reason(reason).endswith("(Not recorded yet: unit.kind.)")


def test_a_reason_of_a_broken_rule_says_so(unread, quoting):
    reason = Reason(quoting, Outcome.BROKEN, _facts(quoting), frozenset())
    assert "could not be decided" in pack_words.pack_reason(reason)


def test_words_of_the_vocabulary_are_translated(unread):
    assert pack_words.pack_word("valve-amplifier") == pseudo("valve amplifier")
    assert pack_words.pack_value(["cold", "knocked"]) == "«cold», «knocked»"
    assert pack_words.pack_title("Relay replaced") == pseudo("relay replaced")


def test_values_in_a_sentence_are_in_its_language(unread, monkeypatch):
    monkeypatch.setattr(pack_words, "pack_text", lambda text: f"«{text}»")
    said = pack_words.pack_sentence(
        "{unit.kind} of {unit.rail_volts}, laser {unit.has_laser}",
        {"unit.kind": "mixer", "unit.rail_volts": 45.0, "unit.has_laser": False},
    )
    assert said == "««mixer» of 45 V, laser no»"


def test_places_of_a_sentence_are_named_in_its_language(unread, quoting):
    assert "{" not in pack_words.pack_pattern(quoting.because)
    assert pack_words.pack_pattern("At {unit.rail_volts}.") == "At [rail volts]."
