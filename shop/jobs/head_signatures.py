"""Heads of ledgers signed at release and hand-back, and checked: a chain that was forged anew shows."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

from django.db import DEFAULT_DB_ALIAS, connections
from django.db.models import Q, QuerySet

from shop.jobs import shop_keys
from shop.jobs.models import HeadSignature, Job, LedgerRow
from shop.jobs.stages import CLOSED
from shop.lib.ed25519 import BadKey, PublicKey


@dataclass
class Verdict:
    """What the signatures of a shop show: how many hold, what does not, and what has none."""

    root: str = ""
    holding: int = 0
    faults: list[str] = field(default_factory=list)
    # Closed jobs without a signature by a key that is vouched for.
    unsigned: list[int] = field(default_factory=list)
    # Signatures by keys that the root does not vouch for: fingerprint and how many.
    by_others: dict[str, int] = field(default_factory=dict)


def sign(row: LedgerRow, *, at: datetime) -> HeadSignature | None:
    """Sign a row as the head of its job; None when the key is not on this machine."""
    signing = shop_keys.for_signing(at)
    if signing is None:
        return None
    key, shop_key = signing
    signature = HeadSignature(
        job_id=row.job_id, sequence=row.sequence, hash=row.hash, key=shop_key, signed_at=at
    )
    signature.signature = key.sign(signature.message.encode())
    signature.save()
    return signature


def sign_closed(*, at: datetime) -> int:
    """Sign the present head of every closed job that the key in force has not signed; returns how many."""
    signing = shop_keys.for_signing(at)
    if signing is None:
        return 0
    signed = HeadSignature.objects.filter(key=signing[1]).values("job")
    heads = _closed().exclude(number__in=signed).values_list("number", "head")
    rows = (LedgerRow.objects.get(job=number, sequence=head) for number, head in heads)
    return sum(sign(row, at=at) is not None for row in list(rows))


def of_job(number: int) -> HeadSignature | None:
    """Return the newest signature of a job that its own ledger still bears out."""
    signature = HeadSignature.objects.filter(job=number).select_related("key").last()
    if signature is None:
        return None
    row = LedgerRow.objects.filter(job=number, sequence=signature.sequence).first()
    return signature if row is not None and row.hash == signature.hash else None


def verify(root: PublicKey | None = None, using: str = DEFAULT_DB_ALIAS) -> Verdict:
    """Check every signature against its ledger, by the keys that `root` vouches for.

    `root` is the key of this machine unless one is given.
    """
    fingerprint = root.fingerprint if root else _own()
    verdict = Verdict(root=fingerprint)
    if HeadSignature._meta.db_table not in connections[using].introspection.table_names():
        return verdict  # of a release before there were signatures
    keys = shop_keys.vouched(fingerprint, using)
    hashes = LedgerRow.objects.using(using)
    signed: set[int] = set()
    signatures = HeadSignature.objects.using(using).select_related("key")
    for signature in signatures.iterator(chunk_size=500):
        place = hashes.filter(job=signature.job_id, sequence=signature.sequence)
        fault = _fault(signature, keys.get(signature.key_id), place.values_list("hash").first())
        if fault is None:
            verdict.holding += 1
            signed.add(signature.job_id)
        elif fault:
            verdict.faults.append(fault)
        else:
            name = signature.key.fingerprint
            verdict.by_others[name] = verdict.by_others.get(name, 0) + 1
    numbers = _closed(using).order_by("number").values_list("number", flat=True)
    verdict.unsigned = [number for number in numbers if number not in signed]
    return verdict


def _fault(signature: HeadSignature, key: PublicKey | None, found: tuple[str] | None) -> str | None:
    """Return what is wrong with a signature; None when it holds, empty when its key is nobody's."""
    where = f"Job {signature.job_id}: row {signature.sequence}"
    if found is None:
        return f"{where} was signed on {signature.signed_at:%Y-%m-%d} and is gone."
    if found[0] != signature.hash:
        return f"{where} is not the one that was signed on {signature.signed_at:%Y-%m-%d}."
    if key is None:
        return ""
    if not key.signed(signature.message.encode(), signature.signature):
        return f"{where} has a signature that the key {signature.key} did not make."
    return None


def _own() -> str:
    try:
        key = shop_keys.present()
    except BadKey:
        return ""
    return key.public.fingerprint if key else ""


def _closed(using: str = DEFAULT_DB_ALIAS) -> QuerySet[Job]:
    """Return the jobs that were released or handed back; one that was joined goes on in another."""
    closed = Q(stage__in=[stage.value for stage in CLOSED], joined_into=None)
    return Job.objects.using(using).filter(closed)
