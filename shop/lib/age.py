"""Files encrypted by a passphrase, in the open format age (age-encryption.org/v1).

What is written here `age -d` opens, and the other way round. The primitives are those of
`cryptography`; a file goes through in pieces, however large it is.

Source: C2SP, "The age file encryption format", age-encryption.org/v1, scrypt recipient.
"""

from __future__ import annotations

import base64
import binascii
import hmac
import os
import re
from collections.abc import Iterator
from typing import IO

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from cryptography.hazmat.primitives.kdf.scrypt import Scrypt

FIRST_LINE = b"age-encryption.org/v1\n"
# As age itself chooses (from memory): a second and 256 MB for each guess.
WORK_FACTOR = 18
# What a stranger's file may ask of this machine: eight times that.
MOST_WORK = 21
_CHUNK, _TAG = 64 * 1024, 16
_LONGEST_HEAD_LINE = 128
_STANZA = re.compile(rb"-> scrypt ([A-Za-z0-9+/]{22}) ([1-9][0-9]?)\n")


class AgeError(Exception):
    """A file that was not opened; the message is a sentence about it."""


def is_age(start: bytes) -> bool:
    """Whether a file that begins so is encrypted."""
    return start.startswith(FIRST_LINE)


def encrypt(source: IO[bytes], target: IO[bytes], passphrase: str) -> None:
    """Write everything that is left of `source` to `target`, encrypted."""
    file_key, salt, nonce = os.urandom(16), os.urandom(16), os.urandom(16)
    wrapped = ChaCha20Poly1305(_wrapping(passphrase, salt, WORK_FACTOR)).encrypt(
        bytes(12), file_key, None
    )
    head = FIRST_LINE + b"-> scrypt %s %d\n%s\n---" % (_to64(salt), WORK_FACTOR, _to64(wrapped))
    target.write(b"%s %s\n" % (head, _to64(_mac(file_key, head))))
    target.write(nonce)
    cipher = ChaCha20Poly1305(_derived(file_key, nonce, b"payload"))
    for number, chunk, last in _pieces(source, _CHUNK):
        target.write(cipher.encrypt(_nonce(number, last=last), chunk, None))


def decrypt(source: IO[bytes], target: IO[bytes], passphrase: str) -> None:
    """Write what an encrypted file holds to `target`.

    AgeError when it was not encrypted by this passphrase, or was cut or altered; what is in
    `target` then is worth nothing.
    """
    file_key = _file_key(source, passphrase)
    nonce = source.read(16)
    if len(nonce) != 16:
        raise AgeError("It is cut short.")
    cipher = ChaCha20Poly1305(_derived(file_key, nonce, b"payload"))
    for number, chunk, last in _pieces(source, _CHUNK + _TAG):
        if len(chunk) < _TAG or (number and len(chunk) == _TAG):
            raise AgeError("It is cut short.")
        try:
            target.write(cipher.decrypt(_nonce(number, last=last), chunk, None))
        except InvalidTag:
            raise AgeError("It was cut or altered after it was encrypted.") from None


def _file_key(source: IO[bytes], passphrase: str) -> bytes:
    """Read the head and return the key that it wraps."""
    first, stanza, body, mac = (source.readline(_LONGEST_HEAD_LINE) for _ in range(4))
    if first != FIRST_LINE:
        raise AgeError("It is not encrypted by age.")
    found = _STANZA.fullmatch(stanza)
    if found is None:
        raise AgeError("It is encrypted, but not by a passphrase; open it with `age -d` first.")
    work = int(found[2])
    if work > MOST_WORK:
        raise AgeError(f"It asks for 2^{work} rounds to open it; at most 2^{MOST_WORK} are made.")
    key = _unwrapped(_wrapping(passphrase, _from64(found[1]), work), _from64(body[:-1]))
    wanted = b"--- %s\n" % _to64(_mac(key, first + stanza + body + b"---"))
    if not hmac.compare_digest(mac, wanted):
        raise AgeError("Its head was altered.")
    return key


def _unwrapped(wrapping: bytes, wrapped: bytes) -> bytes:
    try:
        key = ChaCha20Poly1305(wrapping).decrypt(bytes(12), wrapped, None)
    except InvalidTag:
        raise AgeError("The passphrase is not the one that it was encrypted by.") from None
    if len(key) != 16:
        raise AgeError("Its head is damaged.")
    return key


def _wrapping(passphrase: str, salt: bytes, work: int) -> bytes:
    label = b"age-encryption.org/v1/scrypt"
    return Scrypt(salt=label + salt, length=32, n=2**work, r=8, p=1).derive(passphrase.encode())


def _derived(key: bytes, salt: bytes, info: bytes) -> bytes:
    return HKDF(algorithm=SHA256(), length=32, salt=salt, info=info).derive(key)


def _mac(file_key: bytes, head: bytes) -> bytes:
    return hmac.digest(_derived(file_key, b"", b"header"), head, "sha256")


def _nonce(number: int, *, last: bool) -> bytes:
    return number.to_bytes(11, "big") + (b"\x01" if last else b"\x00")


def _pieces(source: IO[bytes], size: int) -> Iterator[tuple[int, bytes, bool]]:
    """Yield number, piece, and whether it is the last; of nothing, one empty piece."""
    number, piece = 0, source.read(size)
    while True:
        after = source.read(size) if len(piece) == size else b""
        yield number, piece, not after
        if not after:
            return
        number, piece = number + 1, after


def _to64(raw: bytes) -> bytes:
    return base64.b64encode(raw).rstrip(b"=")


def _from64(text: bytes) -> bytes:
    """Return what base64 without padding stands for, written in its one right way."""
    try:
        raw = base64.b64decode(text + b"=" * (-len(text) % 4), validate=True)
    except (binascii.Error, ValueError):
        raw = b""
    if not raw or _to64(raw) != text:
        raise AgeError("Its head is damaged.")
    return raw
