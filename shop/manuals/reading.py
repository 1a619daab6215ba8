"""Read a PDF in a process of its own: its pages, its text, and pictures of its pages."""

from __future__ import annotations

import hashlib
import json
import subprocess
from dataclasses import dataclass
from pathlib import Path

from django.utils.translation import gettext

from shop.lib import own_process
from shop.lib.refusals import bad
from shop.lib.text import quoted

LARGEST_FILE = 60 * 1024 * 1024
TIMEOUT_SECONDS = 40
# The reader is run and never imported: the shop needs no library for PDFs in its memory. What it is
# told, and how it says that it takes no file, it has under the same names.
READER = Path(__file__).with_name("pdf_reader.py")
LOOK, PAGE, SMALL, REFUSED = "look", "page", 320, 3
# The longer side in pixels: for lists, for a screen, and to look closely.
SIZES = {"small": SMALL, "whole": 1800, "large": 4500}


@dataclass(frozen=True)
class ReadPdf:
    """A PDF as it came and what was read of it; `texts` by page, the hash SHA-256 in hex."""

    raw: bytes
    cover: bytes
    texts: list[str]
    sha256: str


def read_pdf(name: str, raw: bytes) -> ReadPdf:
    """Return what a file of this name holds; BadInput with a sentence when it is no PDF that is taken."""
    if not raw:
        raise bad("file", gettext("{name} is empty; choose it again.").format(name=quoted(name)))
    if len(raw) > LARGEST_FILE:
        raise too_large(name)
    head, _, cover = _read(name, raw, LOOK).partition(b"\n")
    texts: list[str] = json.loads(head)["texts"]
    return ReadPdf(raw, cover, texts, hashlib.sha256(raw).hexdigest())


def page_picture(name: str, raw: bytes, page: int, size: str) -> bytes:
    """Return a page as JPEG, in one of SIZES; BadInput when it cannot be drawn."""
    return _read(name, raw, PAGE, str(page), str(SIZES[size]))


def _read(name: str, raw: bytes, *arguments: str) -> bytes:
    try:
        process = own_process.run(str(READER), list(arguments), raw, seconds=TIMEOUT_SECONDS)
    except subprocess.TimeoutExpired:
        raise bad(
            "file", gettext("{name} takes too long to read.").format(name=quoted(name))
        ) from None
    if process.returncode == REFUSED:
        raise bad("file", f"{quoted(name)}: {process.stderr.decode()}")
    if process.returncode:
        raise bad("file", gettext("{name} cannot be read as a PDF.").format(name=quoted(name)))
    return process.stdout


def too_large(name: str) -> Exception:
    """Return the error for a file that is larger than is taken."""
    return bad(
        "file",
        gettext("{name} is larger than {number} MB; send a smaller file.").format(
            name=quoted(name), number=LARGEST_FILE // 2**20
        ),
    )
