"""Decode files to photos in a process of their own, one at a time."""

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

LARGEST_FILE = 30 * 1024 * 1024
TIMEOUT_SECONDS = 40

# The decoder is run and never imported: the shop needs no library for pictures in its memory. What
# it is told, and how it says that it takes no file, it has under the same names.
DECODER = Path(__file__).with_name("decoder.py")
CODES, LOGO, REFUSED = "codes", "logo", 3


@dataclass(frozen=True)
class DecodedPhoto:
    """A picture as it is kept; sizes in pixels, hashes SHA-256 in hex."""

    whole: bytes
    small: bytes
    width: int
    height: int
    sha256_sent: str
    sha256: str


def decode_photo(name: str, raw: bytes) -> DecodedPhoto:
    """Return the picture in a file of this name; BadInput with a sentence when there is none.

    The decoder runs in a process of its own: a file made to break it breaks nothing here.
    """
    header_line, _, images = _decoded(name, raw).partition(b"\n")
    header = json.loads(header_line)
    whole, small = images[: header["whole"]], images[header["whole"] :]
    return DecodedPhoto(
        whole,
        small,
        header["width"],
        header["height"],
        hashlib.sha256(raw).hexdigest(),
        hashlib.sha256(whole).hexdigest(),
    )


def read_codes(name: str, raw: bytes) -> list[str]:
    """Return what the codes in a picture hold, read in the same process of its own; nothing is kept."""
    found: list[str] = json.loads(_decoded(name, raw, CODES))
    return found


def read_logo(name: str, raw: bytes) -> bytes:
    """Return the picture in a file as a small PNG, for letterheads; BadInput when there is none."""
    return _decoded(name, raw, LOGO)


def _decoded(name: str, raw: bytes, *what: str) -> bytes:
    if not raw:
        raise bad(
            "photo", gettext("{name} is empty; take the picture again.").format(name=quoted(name))
        )
    if len(raw) > LARGEST_FILE:
        raise too_large(name)
    process = _run_decoder(name, raw, *what)
    if process.returncode == REFUSED:
        raise bad("photo", f"{quoted(name)}: {process.stderr.decode()}")
    if process.returncode:
        raise bad(
            "photo",
            gettext("{name} cannot be read as a picture; nothing of it is kept.").format(
                name=quoted(name)
            ),
        )
    return process.stdout


def _run_decoder(name: str, raw: bytes, *what: str) -> subprocess.CompletedProcess[bytes]:
    try:
        return own_process.run(str(DECODER), list(what), raw, seconds=TIMEOUT_SECONDS)
    except subprocess.TimeoutExpired:
        raise bad(
            "photo",
            gettext("{name} takes too long to read; nothing of it is kept.").format(
                name=quoted(name)
            ),
        ) from None


def too_large(name: str) -> Exception:
    """Return the error for a file that is larger than is taken."""
    return bad(
        "photo",
        gettext("{name} is larger than {number} MB; send a smaller picture.").format(
            name=quoted(name), number=LARGEST_FILE // 2**20
        ),
    )
