"""Pictures for tests, good ones and hostile ones, made here and now."""

from __future__ import annotations

import hashlib
import struct
import zlib
from io import BytesIO

import pillow_heif
from django.utils import timezone
from PIL import Image

from shop.photos import services as photo_services
from shop.photos.processing import DecodedPhoto
from shop.photos.services import PhotoSubject

pillow_heif.register_heif_opener()

ORIENTATION, GPS, MAKER = 0x0112, 0x8825, 0x010F


def picture(form="JPEG", size=(640, 480), colour="red", **more) -> bytes:
    out = BytesIO()
    Image.new("RGB", size, colour).save(out, form, **more)
    return out.getvalue()


def from_a_telephone(size=(400, 300), orientation=6) -> bytes:
    """Red above and blue below, turned by its EXIF, with a place and a maker in it."""
    image = Image.new("RGB", size, "blue")
    image.paste("red", (0, 0, size[0], size[1] // 2))
    exif = Image.Exif()
    exif[ORIENTATION], exif[MAKER] = orientation, "Nobody's telephone"
    exif.get_ifd(GPS)[2] = (51.0, 30.0, 0.0)
    out = BytesIO()
    image.save(out, "JPEG", exif=exif, comment=b"secret words")
    return out.getvalue()


def bomb(width=30_000, height=30_000) -> bytes:
    """A small PNG of very many points."""

    def chunk(kind: bytes, body: bytes) -> bytes:
        whole = kind + body
        return struct.pack(">I", len(body)) + whole + struct.pack(">I", zlib.crc32(whole))

    header = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    rows = zlib.compress((b"\0" + b"\0" * ((width + 7) // 8)) * height, 9)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")
    )


def snap(number: int, *, by, of: PhotoSubject | None = None, whole: bytes | None = None):
    """A photo of a job, without the decoder."""
    small = whole or picture(size=(8, 6))
    digest = hashlib.sha256(small).hexdigest()
    made = DecodedPhoto(small, small, 8, 6, digest, digest)
    return photo_services.add_photo(number, made, of or PhotoSubject(), by=by, at=timezone.now())
