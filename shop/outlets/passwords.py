"""The password of an outlet at its broker: kept sealed, shown to nobody."""

from __future__ import annotations

from cryptography.fernet import InvalidToken

from shop.outlets.models import Outlet
from shop.preferences.sealing import seal

PURPOSE = "outlet"


def sealed(password: str) -> str:
    """Return a password as it is kept; empty stays empty."""
    return seal(PURPOSE).encrypt(password.encode()).decode() if password else ""


def opened(outlet: Outlet) -> str:
    """Return the password; empty where none is kept, or its key is gone."""
    if not outlet.sealed_password:
        return ""
    try:
        return seal(PURPOSE).decrypt(outlet.sealed_password.encode()).decode()
    except InvalidToken:
        return ""
