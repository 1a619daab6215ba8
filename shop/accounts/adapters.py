"""How the library for accounts is bent to a shop: nobody signs up, and secrets are not plain."""

from __future__ import annotations

from typing import Any

from allauth.account.adapter import DefaultAccountAdapter
from allauth.mfa.adapter import DefaultMFAAdapter
from django.core.exceptions import ValidationError
from django.dispatch import Signal
from django.http import HttpRequest

from shop.preferences.sealing import seal

PURPOSE = "second-factor"
# Somebody tried too often; sent with the request and the name as typed.
slowed = Signal()


class ShopAdapter(DefaultAccountAdapter):
    """Accounts are made by the owner of the shop, with `manage.py user`."""

    def is_open_for_signup(self, request: HttpRequest) -> bool:
        """Nobody makes an account for themselves."""
        return False

    def pre_authenticate(self, request: HttpRequest, **credentials: Any) -> None:
        """Look whether there were too many tries, and leave a note of it when there were.

        They are counted by address and name together.
        """
        name = credentials.get("username", "")
        counted = {"username": f"{self.get_client_ip(request)}:{name}"}
        try:
            super().pre_authenticate(request, **counted)
        except ValidationError:
            slowed.send(sender=type(self), request=request, name=name)
            raise


class SecretAdapter(DefaultMFAAdapter):
    """Keeps the secrets of second factors sealed by the signing key of the shop."""

    def encrypt(self, text: str) -> str:
        """Return the text sealed."""
        return seal(PURPOSE).encrypt(text.encode()).decode()

    def decrypt(self, encrypted_text: str) -> str:
        """Return what was sealed, under the key of today or an earlier one that is still listed."""
        return seal(PURPOSE).decrypt(encrypted_text.encode()).decode()
