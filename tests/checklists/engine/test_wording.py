"""Every text of a pack that people read is named, and what keeps somebody safe is a safety text."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from dataclasses import replace

import pytest

from checklists.engine import reading_packs, wording
from checklists.engine.vocabulary import VOCABULARY
from checklists.engine.words import as_shown
from tests.project.catalogues import ROOT

FOLDER = ROOT / "checklists" / "packs"
# Keys of the files that no page shows as words: names, conditions, sums, what is looked up.
NOT_READ = frozenset(
    [
        "key",
        "id",
        "name",
        "when",
        "possible",
        "more_when",
        "known",
        "arguments",
        "calculation",
        "require",
        "after",
        "needs_steps",
        "signed_by",
        "waivable_by",
        "cleared_by",
        "raised_by",
        "clears",
        "ended_by",
        "needs_power",
        "needs_cover",
        "phase",
        "gate",
        "gate_once_opened",
        "role",
        "unit",
        "step",
        "quantity",
        "scope",
        "meets",
        "meets_failed",
        "section",
        "together",
        "answers",
        "measures",
        "version",
        "event",
    ]
)


@pytest.fixture(scope="module")
def pack():
    return reading_packs.load(FOLDER)


@pytest.fixture(scope="module")
def texts(pack):
    return {one.text for one in wording.of_pack(pack)}


def _prose(table: object, key: str = "") -> Iterator[tuple[str, str]]:
    if isinstance(table, dict):
        for name, value in table.items():
            if name not in NOT_READ:
                yield from _prose(value, name)
    elif isinstance(table, list):
        for value in table:
            yield from _prose(value, key)
    elif isinstance(table, str) and re.search(r"[^\W\d_]", table):
        yield key, table


def _tables() -> Iterator[tuple[str, list[object]]]:
    for file in sorted(FOLDER.glob("*.toml")):
        if reading_packs.holds_rules(file):
            content = tomllib.loads(file.read_text(encoding="utf-8"))
            yield file.name, [rows for kind, rows in content.items() if kind != "pack"]


@pytest.mark.parametrize(("file", "tables"), list(_tables()), ids=lambda one: str(one)[:30])
def test_no_text_of_the_files_escapes(file, tables, texts):
    assert [(key, text) for key, text in _prose(tables) if text not in texts] == []


def test_a_text_under_a_key_that_nobody_named_is_found(texts):
    table = [{"key": "a-step", "hint": "Look behind it first."}]
    assert [text for _, text in _prose(table) if text not in texts] == ["Look behind it first."]


def _safety(pack):
    return {one.text for one in wording.of_pack(pack) if one.safety}


def test_all_words_of_a_hold_are_safety_texts(pack):
    safety = _safety(pack)
    for step in pack.steps.values():
        if step.hold:
            said = [step.title, step.instruction, *(one.title for one in step.readings)]
            assert safety.issuperset(said), step.key


def test_so_are_cautions_hazards_and_what_is_done_instead(pack):
    safety = _safety(pack)
    for step in pack.steps.values():
        assert step.caution is None or step.caution.text in safety
        assert not step.instead or step.instead in safety
    assert all({one.title, one.because} <= safety for one in pack.hazards)


def test_so_is_whatever_tells_hands_what_to_do(pack):
    safety = _safety(pack)
    assert all(step.instruction in safety for step in pack.steps.values())
    assert all(one.test in safety for one in pack.suspects)


def test_why_a_hold_is_asked_is_one_and_why_a_service_step_is_not(pack):
    safety = _safety(pack)
    for rule in pack.rules:
        guards = any(wording.is_guarding(pack.steps[key]) for key in rule.require)
        if guards:
            assert rule.because in safety
    assert any(rule.because not in safety for rule in pack.rules)


def test_the_title_of_a_service_step_is_none_until_it_carries_a_caution(pack):
    plain = next(s for s in pack.steps.values() if not wording.is_guarding(s))
    held = next(s for s in pack.steps.values() if s.caution)
    safety = _safety(pack)
    assert plain.title not in safety
    assert wording.is_guarding(replace(plain, caution=held.caution))


def test_every_fact_has_its_label_and_options_as_pages_show_them():
    texts = {one.text for one in wording.of_vocabulary()}
    for fact in VOCABULARY.values():
        assert wording.label(fact) in texts
        assert {as_shown(word) for word in fact.words} <= texts
    assert {"Highest rail (V)", "valve amplifier", "first power", "step signed"} <= texts


def test_signal_words_are_safety_texts():
    assert {"DANGER", "WARNING"} <= {one.text for one in wording.of_vocabulary() if one.safety}
