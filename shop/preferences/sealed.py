"""Settings that are secrets: kept sealed, opened where they are used, shown to nobody."""

from __future__ import annotations

from cryptography.fernet import InvalidToken

from shop.preferences.models import SealedSetting
from shop.preferences.sealing import seal

PURPOSE = "setting"


def opened(name: str) -> str:
    """Return the secret; empty where none is kept, or its key is gone."""
    row = SealedSetting.objects.filter(name=name).first()
    if row is None:
        return ""
    try:
        return seal(PURPOSE).decrypt(row.sealed.encode()).decode()
    except InvalidToken:
        return ""


def is_kept(name: str) -> bool:
    """Tell whether a secret is kept that can be opened."""
    return bool(opened(name))


def keep_first(name: str, secret: str) -> None:
    """Keep a secret unless one is kept that can be opened; of two at once, the first stays."""
    token = seal(PURPOSE).encrypt(secret.encode()).decode()
    row, new = SealedSetting.objects.get_or_create(name=name, defaults={"sealed": token})
    if not new and not opened(name):
        SealedSetting.objects.filter(pk=row.pk, sealed=row.sealed).update(sealed=token)


def keep(name: str, secret: str) -> None:
    """Keep a secret in the place of the one before; an empty one takes it away."""
    if not secret:
        SealedSetting.objects.filter(name=name).delete()
        return
    token = seal(PURPOSE).encrypt(secret.encode()).decode()
    SealedSetting.objects.update_or_create(name=name, defaults={"sealed": token})
