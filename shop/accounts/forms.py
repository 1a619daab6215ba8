"""The form of the sign-in page."""

from __future__ import annotations

from typing import Any

from allauth.account.forms import LoginForm
from django.utils.translation import gettext as _


class SignInForm(LoginForm):
    """Name and password, by the names that browsers and their keepers of passwords know."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["login"].label = _("Name")
        for field in self.fields.values():
            field.widget.attrs.pop("placeholder", None)

    def add_prefix(self, field_name: str) -> str:
        return "username" if field_name == "login" else str(super().add_prefix(field_name))
