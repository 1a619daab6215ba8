"""Typeset a document as PDF: offline, with the fonts that come along, the same bytes for the same record."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from datetime import datetime
from functools import cache
from pathlib import Path
from typing import Any, Literal

import typst
from django.conf import settings
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from shop.documents import paper_words
from shop.lib import languages
from shop.lib.refusals import bad
from shop.preferences import current as preferences

HERE = Path(__file__).parent
TEMPLATES = HERE / "typst"
# ISO 216 A4 and US Letter by the names typst has for them; label stock in mm, common sizes
# from memory.
SIZES = {"a4": gettext_noop("A4"), "us-letter": gettext_noop("US Letter")}
PREVIEW_PPI = 96.0
LABELS = {"62x29": (62, 29), "89x36": (89, 36), "102x51": (102, 51)}


def sizes() -> dict[str, str]:
    """Return the sizes of paper with what people call them, that of the shop first."""
    own = preferences.value("paper_size")
    return {name: _(SIZES[name]) for name in dict.fromkeys([own, *SIZES])}


def compile_pdf(
    name: str,
    data: Mapping[str, Any],
    *,
    at: datetime,
    pictures: Mapping[str, str] | None = None,
    templates: Path = TEMPLATES,
    words: Iterable[object] = paper_words.WORDS,
    standard: Literal["a-2b", "a-3b"] = "a-2b",
) -> bytes:
    """Return the PDF of a template; `data` is printed as it stands, `pictures` are SVG by file name.

    `at` is the date inside the file, so that the same record gives the same bytes. `templates` is
    the folder of a room with templates of its own, which may use what all share, and `words` are
    those in them in the language in force; `standard` is a level of PDF/A. BadInput names the first
    text that no font can set.
    """
    # Archival PDF must show every letter: what the fonts lack is an error, not an empty box.
    archival = {"format": "pdf", "pdf_standards": standard, "timestamp": int(at.timestamp())}
    pdf: bytes = _compile(name, data, pictures, archival, templates, words)
    return pdf


def compile_preview(
    name: str, data: Mapping[str, Any], *, pictures: Mapping[str, str] | None = None
) -> bytes:
    """Return the first page of a template as PNG, for a look on the screen."""
    pages = _compile(name, data, pictures, {"format": "png", "ppi": PREVIEW_PPI})
    first: bytes = pages[0] if isinstance(pages, list) else pages
    return first


def _compile(
    name: str,
    data: Mapping[str, Any],
    pictures: Mapping[str, str] | None,
    output: Mapping[str, Any],
    templates: Path = TEMPLATES,
    words: Iterable[object] = paper_words.WORDS,
) -> Any:
    # Several files in memory are taken, though the library's types do not say so.
    files: Any = {
        f"{template.stem}.typ": template.read_bytes()
        for folder in (TEMPLATES, templates)
        for template in folder.glob("*.typ")
    }
    files["main"] = files.pop(f"{name}.typ")
    files |= {file: svg.encode() for file, svg in (pictures or {}).items()}
    spoken = {"lang": languages.in_force(), "say": paper_words.said(words)}
    try:
        return typst.compile(
            files,
            font_paths=_fonts(),
            sys_inputs={"data": json.dumps({**data, **spoken}, ensure_ascii=False)},
            **output,
        )
    except typst.TypstError as error:
        raise _missing_glyph_error(str(error)) from None


def _missing_glyph_error(message: str) -> Exception:
    lacking = re.search(r'the text `"(.*?)"` could not be displayed', message, re.S)
    if lacking is None:
        raise AssertionError(f"the template is broken: {message}")
    # Whoever prints reads it, not whom the paper is for.
    with languages.of_shop():
        said = _(
            "The fonts at hand cannot set {lacking!r}; put a font that can into the folder that "
            "BENCHTAG_FONTS names."
        )
    return bad("paper", said.format(lacking=lacking[1][:40]))


@cache
def _fonts() -> typst.Fonts:
    folders = [str(HERE / "fonts"), *([str(settings.FONTS)] if settings.FONTS else [])]
    return typst.Fonts(include_system_fonts=False, font_paths=folders)
