"""The tables of docs/safety.md are those of the pack."""

from __future__ import annotations

from dataclasses import replace

import pytest

from tests.project import safety


def test_the_page_shows_hazards_and_analysis_as_they_are():
    text = safety.PAGE.read_text(encoding="utf-8")
    assert safety.page(text) == text, "run python -m tests.project.safety"


def test_a_row_that_is_missing_is_put_back():
    text = safety.PAGE.read_text(encoding="utf-8")
    rows = [line for line in text.splitlines(keepends=True) if "`work-under-mains`" in line]
    assert len(rows) == 1
    assert safety.page(text.replace(rows[0], "")) == text


def test_a_page_without_its_marks_is_told():
    text = safety.PAGE.read_text(encoding="utf-8")
    with pytest.raises(ValueError, match="marks around the analysis"):
        safety.page(text.replace("<!-- end of analysis -->\n", ""))


def test_shorter_lists_ask_for_no_fewer_hazards():
    on_purpose = set(safety.before()["gone"])
    unnamed = {lost for lost in safety.fewer() if lost[1] not in on_purpose}
    assert not unnamed, "asked before and not now; mend it, or name the hazard under [gone]"


def test_what_is_gone_on_purpose_is_gone():
    gone = {hazard for _, hazard, _ in safety.fewer()}
    assert set(safety.before()["gone"]) <= gone


def test_a_hazard_taken_out_of_the_table_is_missed(monkeypatch):
    pack = safety.reading_packs.load(safety.PACKS)
    kept = tuple(hazard for hazard in pack.hazards if hazard.key != "wrong-fuse")
    without = replace(pack, hazards=kept, raw={**pack.raw, "without": "wrong-fuse"})
    monkeypatch.setattr(safety.reading_packs, "load", lambda _: without)
    assert {hazard for _, hazard, _ in safety.fewer()} >= {"wrong-fuse"}
