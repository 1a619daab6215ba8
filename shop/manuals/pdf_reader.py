"""A PDF in, its text and pictures of its pages out: run as a process of its own, with limits.

Reads the file from standard input. Called with LOOK it writes a line of JSON (how many pages, the
text of each) and after it the first page in small, as JPEG. Called with PAGE, the number of a page
from 1 and the longest side in pixels, it writes that page as JPEG. Nothing in the file is run: the
library is built without JavaScript, forms stay as they are drawn, links are not followed. What is
no PDF, or too much of one, ends with status 3 and a sentence on standard error. Knows nothing of
Django.
"""

from __future__ import annotations

import json
import math
import resource
import sys
import time
from io import BytesIO

import pypdfium2

LOOK, PAGE = "look", "page"
MOST_PAGES = 3000
# Of a page; a page of small print has 10,000.
LONGEST_TEXT = 40_000
# Of a file: thirty times a thick book.
LONGEST_TEXTS = 30_000_000
SMALL = 320
MEMORY_BYTES = 1_500_000_000
SECONDS = 30
# Text of what is left after this stays unread: the file is kept, and its pages can be seen.
SECONDS_OF_READING = 20
REFUSED = 3
# Where the mark of a PDF must stand, in bytes from the start (ISO 32000-1, note in annex H).
HEAD = 1024


class UnreadablePdf(Exception):
    """A file that is not taken; the message is a sentence."""


def opened(raw: bytes) -> pypdfium2.PdfDocument:
    """Return the document; UnreadablePdf for what is none, is locked, or has too many pages."""
    if b"%PDF-" not in raw[:HEAD]:
        raise UnreadablePdf("The file is no PDF.")
    try:
        document = pypdfium2.PdfDocument(raw)
        pages = len(document)
    except pypdfium2.PdfiumError as error:
        raise UnreadablePdf(_why(error)) from None
    if not 1 <= pages <= MOST_PAGES:
        raise UnreadablePdf(f"The file has {pages} pages; 1 to {MOST_PAGES} are taken.")
    return document


def _why(error: pypdfium2.PdfiumError) -> str:
    if "password" in str(error).lower():
        return "The file is locked with a password; keep a copy that opens without one."
    return "The file breaks off or is damaged; get it again."


def texts(document: pypdfium2.PdfDocument) -> list[str]:
    """Return the text of each page; empty for a page without text, and for those not reached."""
    until, left = time.monotonic() + SECONDS_OF_READING, LONGEST_TEXTS
    found = []
    for number in range(len(document)):
        text = _text(document, number) if left > 0 and time.monotonic() < until else ""
        left -= len(text)
        found.append(text)
    return found


def _text(document: pypdfium2.PdfDocument, number: int) -> str:
    try:
        page = document[number]
        text: str = page.get_textpage().get_text_bounded()[:LONGEST_TEXT]
        page.close()
    except pypdfium2.PdfiumError:
        return ""  # a page that is damaged; others may be whole
    return "\n".join(" ".join(_printable(line).split()) for line in text.splitlines())


def _printable(line: str) -> str:
    """Return the line without what no database takes: zeros, halves of a pair, controls."""
    return "".join(letter if letter.isprintable() else " " for letter in line)


def picture(document: pypdfium2.PdfDocument, number: int, longest: int) -> bytes:
    """Return a page, from 1, as JPEG whose longer side has `longest` pixels."""
    if not 1 <= number <= len(document):
        raise UnreadablePdf(f"There is no page {number}; the last is {len(document)}.")
    try:
        page = document[number - 1]
        side = max(page.get_size())
        if not (math.isfinite(side) and side > 0):
            raise UnreadablePdf(f"Page {number} has no size.")
        image = page.render(scale=longest / side, may_draw_forms=False).to_pil().convert("RGB")
    except pypdfium2.PdfiumError:
        raise UnreadablePdf(f"Page {number} is damaged.") from None
    out = BytesIO()
    image.save(out, "JPEG", quality=82, optimize=True, progressive=True)
    return out.getvalue()


def look(raw: bytes) -> bytes:
    """Return the line of JSON and the first page in small."""
    document = opened(raw)
    cover = picture(document, 1, SMALL)
    header = {"pages": len(document), "texts": texts(document)}
    return json.dumps(header).encode() + b"\n" + cover


def main() -> int:
    """Answer for the file on standard input."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    raw = sys.stdin.buffer.read()
    what, *numbers = sys.argv[1:]
    try:
        made = look(raw) if what == LOOK else picture(opened(raw), *map(int, numbers))
    except UnreadablePdf as error:
        sys.stderr.write(str(error))
        return REFUSED
    sys.stdout.buffer.write(made)
    return 0


if __name__ == "__main__":
    sys.exit(main())
