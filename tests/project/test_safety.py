"""The tables of docs/safety.md are those of the pack."""

from __future__ import annotations

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
