"""The key by which push services know the shop (VAPID, RFC 8292): made on first use, kept sealed.

The library is an extra; without it nothing of this stands on the pages.
"""

from __future__ import annotations

import base64
from datetime import datetime, timedelta
from email.utils import parseaddr
from importlib.util import find_spec
from typing import Any
from urllib.parse import urlsplit

from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec
from django.utils.translation import gettext as _

from shop.lib.refusals import refuse
from shop.preferences import current as preferences
from shop.preferences import sealed

NAME = "vapid_key"
_STANDS_FOR = timedelta(hours=12)  # at most 24, RFC 8292, 2


def library_is_here() -> bool:
    """Tell whether the extra is installed."""
    return find_spec("pywebpush") is not None


def require_library() -> None:
    """Raise Refused with a sentence where the extra is missing."""
    if not library_is_here():
        raise refuse(
            "extra", _("Messages to browsers need an extra: pip install 'benchtag[push]'.")
        )


def private_key() -> ec.EllipticCurvePrivateKey:
    """Return the key of the shop; of two that make it at once, one does.

    Where the signing key has changed, the old one cannot be opened, and a new one is made.
    """
    kept = sealed.opened(NAME)
    if not kept:
        sealed.keep_first(NAME, _made())
        kept = sealed.opened(NAME)
    key = serialization.load_pem_private_key(kept.encode(), password=None)
    if not isinstance(key, ec.EllipticCurvePrivateKey):
        raise TypeError(f"{NAME} is no key on a curve")
    return key


def public_key() -> str:
    """Return the public key as browsers take it: the point, base64url without padding."""
    point = (
        private_key()
        .public_key()
        .public_bytes(serialization.Encoding.X962, serialization.PublicFormat.UncompressedPoint)
    )
    return base64.urlsafe_b64encode(point).rstrip(b"=").decode()


def signed(address: str, now: datetime) -> dict[str, Any]:
    """Return the header that vouches for the shop at a push service (RFC 8292)."""
    from py_vapid import Vapid02  # noqa: PLC0415 - an extra

    parts = urlsplit(address)
    claims = {
        "aud": f"{parts.scheme}://{parts.netloc}",
        "exp": int((now + _STANDS_FOR).timestamp()),
        "sub": f"mailto:{_contact()}",
    }
    headers: dict[str, Any] = Vapid02(private_key()).sign(claims)
    return headers


def _contact() -> str:
    written = preferences.value("email") or parseaddr(str(preferences.value("email_from")))[1]
    return str(written or "shop@localhost")


def _made() -> str:
    key = ec.generate_private_key(ec.SECP256R1())
    pem = key.private_bytes(
        serialization.Encoding.PEM,
        serialization.PrivateFormat.PKCS8,
        serialization.NoEncryption(),
    )
    return pem.decode()
