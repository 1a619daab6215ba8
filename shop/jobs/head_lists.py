"""A signed list of the heads of all ledgers, as it goes with a backup and a bundle.

A list that was kept elsewhere tells, years later, which rows are not what they were that day.
"""

from __future__ import annotations

import base64
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.db import DEFAULT_DB_ALIAS, connection

from shop.jobs.models import LedgerRow, ShopKey
from shop.jobs.shop_keys import Signing
from shop.lib.ed25519 import BadKey, PublicKey

FIRST_LINE = "benchtag heads 1"
_LINE = re.compile(r"(\d{1,18}) (\d{1,9}) ([0-9a-f]{64})", re.ASCII)
_HEADS = """
    SELECT r.job_id, r.sequence, r.hash FROM jobs_job j
    JOIN jobs_ledgerrow r ON r.job_id = j.number AND r.sequence = j.head ORDER BY r.job_id"""
Head = tuple[int, int, str]


class BadList(Exception):
    """A list of heads that is none, or that its key did not sign; the message is a sentence."""


@dataclass(frozen=True)
class SignedList:
    """The heads of a day, by the key with this fingerprint."""

    made: str
    fingerprint: str
    heads: tuple[Head, ...]


def heads() -> Iterator[Head]:
    """Yield job, row and hash of the head of each job; one query."""
    with connection.cursor() as cursor:
        cursor.execute(_HEADS)
        yield from cursor


def write(found: Iterable[Head], signing: Signing, made: str) -> tuple[bytes, bytes]:
    """Return the list as text, and its signature as the 64 bytes that `openssl pkeyutl` reads."""
    key, shop_key = signing
    lines = [FIRST_LINE, f"made {made}", f"key {shop_key.fingerprint}"]
    lines += [f"{job} {sequence} {row_hash}" for job, sequence, row_hash in found]
    text = "\n".join([*lines, ""]).encode()
    return text, base64.b64decode(key.sign(text))


def read(
    text: bytes, signature: bytes, root: PublicKey | None = None, using: str = DEFAULT_DB_ALIAS
) -> SignedList:
    """Return a list whose signature holds: by `root`, or by the key of this shop that it names."""
    found = _parsed(text)
    key = root or _known(found.fingerprint, using)
    if key is None:
        raise BadList(
            f"The heads are signed by {found.fingerprint[:16]}, which is no key of this shop."
        )
    if key.fingerprint != found.fingerprint or not key.signed(
        text, base64.b64encode(signature).decode()
    ):
        raise BadList(f"The heads are not signed by the key {key.fingerprint[:16]}.")
    return found


def _parsed(text: bytes) -> SignedList:
    try:
        first, made, key, *lines = text.decode("ascii").split("\n")
    except (UnicodeDecodeError, ValueError):
        raise BadList("This is no list of heads.") from None
    matches = [_LINE.fullmatch(line) for line in lines if line]
    if first != FIRST_LINE or not made.startswith("made ") or not all(matches):
        raise BadList("This is no list of heads.")
    found = tuple((int(m[1]), int(m[2]), m[3]) for m in matches if m)
    return SignedList(made.removeprefix("made "), key.removeprefix("key "), found)


def _known(fingerprint: str, using: str) -> PublicKey | None:
    row = ShopKey.objects.using(using).filter(fingerprint=fingerprint).first()
    try:
        key = PublicKey.read(row.public_key) if row else None
    except BadKey:
        return None
    return key if key and key.fingerprint == fingerprint else None


def faults(signed: SignedList, using: str = DEFAULT_DB_ALIAS) -> Iterator[str]:
    """Yield a sentence for each head of the list that is not in the ledgers as it was signed."""
    for job, sequence, row_hash in signed.heads:
        rows = LedgerRow.objects.using(using).filter(job=job, sequence=sequence)
        row = rows.values_list("hash").first()
        if row is None:
            yield f"Job {job}: row {sequence} was signed on {signed.made[:10]} and is gone."
        elif row[0] != row_hash:
            yield f"Job {job}: row {sequence} is not the one that was signed on {signed.made[:10]}."
