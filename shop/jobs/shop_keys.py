"""The key of the shop: made on first need, changed, found to be lost; and which keys it vouches for."""

from __future__ import annotations

import logging
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.conf import settings
from django.db import DEFAULT_DB_ALIAS
from django.utils.translation import gettext as _

from shop.jobs.models import ShopKey
from shop.lib.ed25519 import BadKey, PublicKey, SigningKey

log = logging.getLogger(__name__)
FILE = "ledger-key"
# A key that signs, and its row.
Signing = tuple[SigningKey, ShopKey]


class KeyRefused(Exception):
    """A change of the key that was not made; the message is a sentence."""


@dataclass(frozen=True)
class KeyState:
    """The key in force, and in a sentence whether this machine can sign with it."""

    sentence: str
    can_sign: bool
    in_force: ShopKey | None


def key_file() -> Path:
    """Return where the key is kept, unless the environment gives it."""
    return Path(settings.DATA) / FILE


def present() -> SigningKey | None:
    """Return the key that this machine has; None when it has none. BadKey when it cannot be read."""
    if settings.LEDGER_KEY:
        return SigningKey.read(settings.LEDGER_KEY)
    try:
        return SigningKey.read(key_file().read_text(encoding="utf-8"))
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError) as error:
        raise BadKey(f"{key_file()} cannot be read: {error}.") from None


def for_signing(at: datetime) -> Signing | None:
    """Return the key in force, made when the shop has none yet; None when it is not on this machine.

    A key that was used once is never made anew in silence: who has the paper of an earlier
    release must hear of it.
    """
    in_force = ShopKey.objects.last()
    try:
        key = present()
        if in_force is None:
            key = key or _made()
            row, _ = ShopKey.objects.get_or_create(
                fingerprint=key.public.fingerprint,
                defaults={"public_key": key.public.pem, "made_at": at},
            )
            return key, row
    except (BadKey, OSError) as error:
        log.error("No head of a ledger can be signed: %s", error)
        return None
    if key is None or key.public.fingerprint != in_force.fingerprint:
        return None
    return key, in_force


def _made() -> SigningKey:
    try:
        return SigningKey.make(key_file())
    except FileExistsError:
        # Another process was faster; its key is the shop's.
        return SigningKey.read(key_file().read_text(encoding="utf-8"))


def state() -> KeyState:
    """Say how it stands with the key."""
    in_force = ShopKey.objects.last()
    try:
        key = present()
    except BadKey as error:
        return KeyState(str(error), can_sign=False, in_force=in_force)
    if in_force is None:
        return KeyState(_("It is made with the first release."), can_sign=True, in_force=None)
    if key is None:
        return KeyState(_lost(in_force), can_sign=False, in_force=in_force)
    if key.public.fingerprint != in_force.fingerprint:
        return KeyState(_another(in_force, key), can_sign=False, in_force=in_force)
    return KeyState(_("It is on this machine and signs."), can_sign=True, in_force=in_force)


def _lost(in_force: ShopKey) -> str:
    return _(
        "The key {key} is not on this machine: releases are not signed. Put {file} of the old data folder into this one; if it is lost, `{command} ledger new-key --lost` makes another. What was signed with it can be checked as before."
    ).format(key=in_force, file=FILE, command=settings.COMMAND)


def _another(in_force: ShopKey, key: SigningKey) -> str:
    other = key.public.fingerprint[:16]
    return _(
        "The key on this machine, {other}, is not that of this shop, {key}: nothing is signed."
    ).format(other=other, key=in_force)


def change(*, at: datetime, lost: bool) -> ShopKey:
    """Make a new key that says it follows the former one, which says so too unless it is lost.

    The former private key is taken away. KeyRefused when the environment holds the key, when
    there is none to follow, and when the former is here though it was said to be lost, or is not.
    """
    if settings.LEDGER_KEY:
        raise KeyRefused(_("BENCHTAG_LEDGER_KEY holds the key; unset it to have one made here."))
    former = ShopKey.objects.last()
    if former is None:
        raise KeyRefused(_("There is no key yet; the first release makes one."))
    key = present()
    here = key if key and key.public.fingerprint == former.fingerprint else None
    if here is None and not lost:
        raise KeyRefused(_lost(former))
    if here is not None and lost:
        raise KeyRefused(f"The key {former} is here; change it without --lost.")
    return _changed(former, here, at)


def _changed(former: ShopKey, here: SigningKey | None, at: datetime) -> ShopKey:
    new = SigningKey.make(key_file().with_name(f"{FILE}.new"))
    said = change_message(former.fingerprint, new.public.fingerprint)
    row = ShopKey.objects.create(
        public_key=new.public.pem,
        fingerprint=new.public.fingerprint,
        made_at=at,
        former=former,
        said_by_former=here.sign(said) if here else "",
        said_by_this=new.sign(said),
    )
    key_file().with_name(f"{FILE}.new").replace(key_file())
    return row


def change_message(former: str, new: str) -> bytes:
    """Return what both keys sign when one follows the other."""
    return f"benchtag key: {new} follows {former}".encode()


def vouched(root: str | None, using: str = DEFAULT_DB_ALIAS) -> dict[int, PublicKey]:
    """Return the keys, by row, that the key with this fingerprint vouches for: itself, and those before it.

    A key before it counts when both said so at the change; a lost one could not. Keys after it,
    and keys of nobody, are left out: a forger can write rows, and no signature of the root.
    """
    found: dict[int, PublicKey] = {}
    row = ShopKey.objects.using(using).filter(fingerprint=root or "").first()
    while row is not None and row.pk not in found:
        public = _public(row)
        if public is None:
            break
        found[row.pk] = public
        former = row.former
        said = change_message(former.fingerprint, row.fingerprint) if former else b""
        before = _public(former) if former else None
        both = before and before.signed(said, row.said_by_former)
        row = former if both and public.signed(said, row.said_by_this) else None
    return found


def _public(row: ShopKey) -> PublicKey | None:
    """Return the key of a row; None when the row does not hold the key that it is named by."""
    try:
        public = PublicKey.read(row.public_key)
    except BadKey:
        return None
    return public if public.fingerprint == row.fingerprint else None
