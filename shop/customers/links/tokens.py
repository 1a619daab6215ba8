"""What stands in the address of a link: the key of its row and 256 random bits, signed.

Without the shop's key none can be made, and without the row none is good.
"""

from __future__ import annotations

import secrets

from django.core.signing import BadSignature, Signer

LONGEST_TOKEN = 200


def nonce() -> str:
    """Return 256 random bits as text."""
    return secrets.token_urlsafe(32)


def made(key: int, random: str, *, salt: str) -> str:
    """Return the token of a row; `salt` tells one sort of link from another."""
    return Signer(sep=".", salt=salt).sign(f"{key}-{random}")


def read(given: str, *, salt: str) -> tuple[int, str] | None:
    """Return the key and the random bits of a token; None for one that was not made here."""
    if len(given) > LONGEST_TOKEN:
        return None
    try:
        number, _, random = Signer(sep=".", salt=salt).unsign(given).partition("-")
    except BadSignature:
        return None
    return int(number), random
