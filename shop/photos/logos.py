"""The logo of the shop: a picture of any make becomes what the setting keeps."""

from __future__ import annotations

import base64
import binascii

from shop.photos import processing
from shop.preferences.kinds import PICTURE_HEAD


def as_setting(name: str, raw: bytes) -> str:
    """Return a picture file as the text of the setting; BadInput where it is none.

    It is decoded like every picture from outside: only its pixels get through.
    """
    if not raw:
        return ""
    return PICTURE_HEAD + base64.b64encode(processing.read_logo(name, raw)).decode()


def cleaned(text: str) -> str:
    """Return the text of a setting with its picture made anew; BadInput where it holds none."""
    try:
        raw = base64.b64decode(text.partition(",")[2] or text, validate=True)
    except (binascii.Error, ValueError):
        raw = b"no picture"
    return as_setting("logo", raw) if text else ""
