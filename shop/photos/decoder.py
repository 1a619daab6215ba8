"""A picture in, a picture out: run as a process of its own, with little memory and little time.

Reads a file of any make from standard input; writes a line of JSON to standard output, then the
whole picture and the small one as JPEG. Called with CODES it writes the texts of the codes in the
picture instead, as JSON; with LOGO a small PNG that keeps what is transparent. Only pixels get through: no place, no date, no camera,
no bytes after the end. What is no picture, or too much of one, ends with status 3 and a sentence
on standard error. Knows nothing of Django.
"""

from __future__ import annotations

import json
import resource
import sys
import warnings
from io import BytesIO

import zxingcpp
from PIL import Image, ImageOps
from pillow_heif import register_heif_opener

FORMATS = ("JPEG", "PNG", "WEBP", "HEIF", "MPO")
MOST_PIXELS = 64_000_000
WHOLE = (2000, 2000)
SMALL = (480, 480)
MEMORY_BYTES = 1_500_000_000
SECONDS = 20
REFUSED = 3
CODES, LOGO = "codes", "logo"
# What fits on a letterhead, and what a page may carry.
LOGO_SIZES = ((600, 200), (400, 134), (240, 80))
LARGEST_LOGO = 100_000


class UnreadableImage(Exception):
    """A file that is not taken; the message is a sentence."""


def decode(raw: bytes) -> tuple[Image.Image, Image.Image]:
    """Return the whole picture and the small one; UnreadableImage for what is no picture."""
    whole = _flattened(_upright(raw), WHOLE)
    return whole, _flattened(whole, SMALL)


def _upright(raw: bytes) -> Image.Image:
    image = _open(raw)
    image.draft("RGB", WHOLE)
    try:
        image.load()
        return ImageOps.exif_transpose(image)
    except (OSError, SyntaxError, ValueError, MemoryError, EOFError) as error:
        raise UnreadableImage(
            "The file breaks off or is damaged; take the picture again."
        ) from error


def logo(raw: bytes) -> bytes:
    """Return a picture as a small PNG; UnreadableImage for what is no picture."""
    upright, packed = _upright(raw), b""
    for size in LOGO_SIZES:
        image = upright.convert("RGBA")
        image.thumbnail(size)
        out = BytesIO()
        image.save(out, "PNG", optimize=True)
        packed = out.getvalue()
        if len(packed) <= LARGEST_LOGO:
            break
    return packed


def _open(raw: bytes) -> Image.Image:
    register_heif_opener()
    Image.MAX_IMAGE_PIXELS = MOST_PIXELS
    warnings.simplefilter("error", Image.DecompressionBombWarning)
    try:
        image: Image.Image = Image.open(BytesIO(raw), formats=FORMATS)
    except (Image.DecompressionBombWarning, Image.DecompressionBombError):
        raise UnreadableImage(_TOO_LARGE) from None
    except Exception:
        # Whatever a decoder says of bytes that are no picture, it is no picture.
        raise UnreadableImage(
            "The file is no picture of a kind that is taken: JPEG, HEIC, PNG or WebP."
        ) from None
    if image.width * image.height > MOST_PIXELS:
        raise UnreadableImage(_TOO_LARGE)
    return image


_TOO_LARGE = f"The picture has more than {MOST_PIXELS // 10**6} million points; send it smaller."


def _flattened(image: Image.Image, largest: tuple[int, int]) -> Image.Image:
    thumbnail = image.copy()
    thumbnail.thumbnail(largest)
    with_alpha = (
        thumbnail.convert("RGBA") if thumbnail.mode in ("RGBA", "LA", "P", "PA") else thumbnail
    )
    flat = Image.new("RGB", thumbnail.size, "white")
    flat.paste(
        with_alpha.convert("RGB"),
        mask=with_alpha.getchannel("A") if with_alpha.mode == "RGBA" else None,
    )
    return flat


def jpeg(image: Image.Image) -> bytes:
    """Return the picture as JPEG without anything but pixels."""
    out = BytesIO()
    image.save(out, "JPEG", quality=82, optimize=True, progressive=True)
    return out.getvalue()


def codes(image: Image.Image) -> list[str]:
    """Return what the codes in a picture hold."""
    return [code.text for code in zxingcpp.read_barcodes(image) if code.valid]


def main() -> int:
    """Decode standard input."""
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (SECONDS, SECONDS))
    try:
        if sys.argv[1:] == [LOGO]:
            sys.stdout.buffer.write(logo(sys.stdin.buffer.read()))
            return 0
        whole, small = decode(sys.stdin.buffer.read())
    except UnreadableImage as error:
        sys.stderr.write(str(error))
        return REFUSED
    if sys.argv[1:] == [CODES]:
        sys.stdout.write(json.dumps(codes(whole)))
        return 0
    parts = jpeg(whole), jpeg(small)
    header = {"width": whole.width, "height": whole.height, "whole": len(parts[0])}
    sys.stdout.buffer.write(json.dumps(header).encode() + b"\n" + b"".join(parts))
    return 0


if __name__ == "__main__":
    sys.exit(main())
