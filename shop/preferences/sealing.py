"""Secrets sealed by the signing key of the shop, each under a purpose of its own."""

from __future__ import annotations

import base64
import hashlib

from cryptography.fernet import Fernet, MultiFernet
from django.conf import settings


def seal(purpose: str) -> MultiFernet:
    """Return what seals and opens for a purpose of at most 16 letters.

    It seals by the key of today, and opens by that and the earlier ones that are still listed.
    """
    keys = [settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]
    return MultiFernet([Fernet(_derived(str(key), purpose)) for key in keys])


def _derived(key: str, purpose: str) -> bytes:
    """Return a key of its own purpose, so that no two uses of the signing key meet."""
    digest = hashlib.blake2b(key.encode(), person=purpose.encode(), digest_size=32)
    return base64.urlsafe_b64encode(digest.digest())
