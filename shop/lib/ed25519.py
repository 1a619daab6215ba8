"""Keys and signatures by Ed25519 (RFC 8032): made, read, named by a fingerprint, checked."""

from __future__ import annotations

import base64
import binascii
import hashlib
import os
import secrets
from dataclasses import dataclass
from pathlib import Path

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey


class BadKey(ValueError):
    """What was given is no Ed25519 key; the message is a sentence."""


@dataclass(frozen=True)
class PublicKey:
    """The half of a key that checks; `pem` is what `openssl pkey -pubin` reads."""

    pem: str
    key: Ed25519PublicKey

    @classmethod
    def read(cls, pem: str) -> PublicKey:
        """Return the key that a PEM text holds; BadKey when it holds none."""
        try:
            key = serialization.load_pem_public_key(pem.encode())
        except (ValueError, UnsupportedAlgorithm):
            raise BadKey("This is no public key in PEM.") from None
        if not isinstance(key, Ed25519PublicKey):
            raise BadKey("This key is not for Ed25519.")
        return cls.of(key)

    @classmethod
    def of(cls, key: Ed25519PublicKey) -> PublicKey:
        """Return a key with its text."""
        return cls(key.public_bytes(_PEM, _PUBLIC).decode(), key)

    @property
    def fingerprint(self) -> str:
        """The SHA-256 of the key as DER, in hex; `openssl pkey -pubin -outform DER | sha256sum`."""
        return hashlib.sha256(
            self.key.public_bytes(serialization.Encoding.DER, _PUBLIC)
        ).hexdigest()

    def signed(self, message: bytes, signature: str) -> bool:
        """Whether this key made a signature (base64) of a message."""
        try:
            self.key.verify(base64.b64decode(signature, validate=True), message)
        except (InvalidSignature, binascii.Error, ValueError):
            return False
        return True


@dataclass(frozen=True)
class SigningKey:
    """A whole key: it signs."""

    key: Ed25519PrivateKey

    @classmethod
    def read(cls, pem: str) -> SigningKey:
        """Return the key that a PEM text holds; BadKey when it holds none."""
        try:
            key = serialization.load_pem_private_key(pem.encode(), password=None)
        except (ValueError, TypeError, UnsupportedAlgorithm):
            raise BadKey("This is no private key in PEM without a passphrase.") from None
        if not isinstance(key, Ed25519PrivateKey):
            raise BadKey("This key is not for Ed25519.")
        return cls(key)

    @classmethod
    def make(cls, file: Path) -> SigningKey:
        """Make a key and keep it in a new file for its owner alone; FileExistsError when there is one."""
        key = cls(Ed25519PrivateKey.generate())
        pem = key.key.private_bytes(
            _PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
        )
        # Written whole under another name first: of two that start together, one key is kept.
        partial = file.with_name(f"{file.name}.{secrets.token_hex(8)}")
        with os.fdopen(os.open(partial, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb") as new:
            new.write(pem)
            new.flush()
            os.fsync(new.fileno())
        try:
            os.link(partial, file)
        finally:
            partial.unlink()
        return key

    @property
    def public(self) -> PublicKey:
        """The half that checks."""
        return PublicKey.of(self.key.public_key())

    def sign(self, message: bytes) -> str:
        """Return the signature of a message, in base64."""
        return base64.b64encode(self.key.sign(message)).decode()


_PEM = serialization.Encoding.PEM
_PUBLIC = serialization.PublicFormat.SubjectPublicKeyInfo
