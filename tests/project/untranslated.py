"""Finds words in templates that no translation reaches: `python -m tests.project.untranslated [FILE ...]`."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from html.parser import HTMLParser
from pathlib import Path

from django.template.base import Lexer, TokenType

ROOT = Path(__file__).resolve().parents[2]
TEMPLATES = ROOT / "templates"
# Attributes that people read or hear.
READ = (
    "alt",
    "title",
    "aria-label",
    "aria-description",
    "placeholder",
    "content",
    "label",
    "data-label",
)
# What is not words: code, and names that are the same in every language.
NOT_WORDS = ("script", "style", "code", "kbd", "pre", "samp")
NAMES = frozenset(
    [
        "API",
        "BIC",
        "Benchtag",
        "CSV",
        "Ctrl",
        "Hz",
        "IBAN",
        "JSON",
        "PDF",
        "QR",
        "XLSX",
        "XML",
        "ZPL",
        "dpi",
        "kHz",
        "kg",
        "min",
        "mm",
        "mV",
        "width",
        "device",
        "initial",
        "scale",
        "light",
        "dark",
        "noindex",
        "utf",
        "telephone",
        "no",
    ]
)
# Filters and tags whose words stand on the page.
_WORDY = re.compile(
    r"""\b(?:default|default_if_none|yesno|pluralize|add|join):(?:"([^"]*)"|'([^']*)')"""
)
_ARGUMENT = re.compile(r"""\b(?:title|label|words|heading|name_of|say)=(?:"([^"]*)"|'([^']*)')""")
_LETTERS = re.compile(r"[^\W\d_]{2,}")
_HOLE = "\N{OBJECT REPLACEMENT CHARACTER}"


def untranslated(path: Path) -> Iterator[str]:
    """Yield what stands in a template as it is: words between tags, in attributes, in filters."""
    html, literals = _without_tags(path.read_text(encoding="utf-8"))
    reader = _Reader()
    reader.feed(html)
    reader.close()
    yield from (words for words in (*reader.found, *literals) if _has_words(words))


def _without_tags(source: str) -> tuple[str, list[str]]:
    """Return the page with a hole for each tag and translated block, and the words inside tags."""
    html: list[str] = []
    literals: list[str] = []
    inside = ""
    for token in Lexer(source).tokenize():
        name = token.contents.split()[0] if token.contents.split() else ""
        if inside:
            inside = "" if name == f"end{inside}" else inside
        elif token.token_type == TokenType.TEXT:
            html.append(token.contents)
        else:
            html.append(_HOLE)
            if token.token_type == TokenType.BLOCK and name in ("blocktranslate", "comment"):
                inside = name
            elif token.contents == "block body_class":
                inside = "block"
            if token.token_type != TokenType.COMMENT:
                literals += _literals(token.contents)
    return "".join(html), literals


def _literals(contents: str) -> Iterator[str]:
    if contents.startswith("translate "):
        return
    for pattern in (_WORDY, _ARGUMENT):
        for match in pattern.finditer(contents):
            yield match[1] or match[2] or ""


def _has_words(words: str) -> bool:
    return any(word not in NAMES for word in _LETTERS.findall(re.sub(r"&\w+;", " ", words)))


class _Reader(HTMLParser):
    """Collects what a person reads."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.found: list[str] = []
        self._silent = 0

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._silent += tag in NOT_WORDS
        self.found += [
            value for name, value in attrs if value and name in READ and not _is_code(value)
        ]

    def handle_endtag(self, tag: str) -> None:
        self._silent -= tag in NOT_WORDS

    def handle_data(self, data: str) -> None:
        if not self._silent:
            self.found += [" ".join(part.split()) for part in data.split(_HOLE)]


def _is_code(value: str) -> bool:
    words = value.replace(_HOLE, "").strip()
    return not words or words.startswith("{")


def all_templates() -> list[Path]:
    """Return every template of a page, in order."""
    return sorted(TEMPLATES.rglob("*.html"))


if __name__ == "__main__":
    for path in map(Path, sys.argv[1:]) if sys.argv[1:] else all_templates():
        for words in untranslated(path):
            print(f"{path}: {words[:100]}")
