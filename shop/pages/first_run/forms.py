"""The form of the first page: an account for the owner, and the settings that a shop starts with."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.utils.translation import gettext_lazy as _

from shop.pages.settings.forms import Group, SettingsForm
from shop.preferences import current

# By the titles of their parts; the rest is on the page of settings.
PARTS = (
    (
        _("Your shop"),
        (
            *("shop_name", "postal_address", "post_code", "city", "country"),
            *("telephone", "email", "logo", "tax_number"),
        ),
    ),
    (
        _("Work"),
        (
            "hourly_rate",
            "workdays",
            "workday_start_hour",
            "workday_end_hour",
            "hands",
            "bench_places",
        ),
    ),
    (
        _("Mail"),
        ("mail_host", "mail_port", "mail_security", "mail_user", "mail_password", "email_from"),
    ),
)


class FirstRunForm(SettingsForm):
    """Who the owner is, and what the shop is called; everything else may wait."""

    owner_name = forms.CharField(
        label=_("Your name here"),
        max_length=150,
        initial="owner",
        widget=forms.TextInput(attrs={"autocomplete": "username"}),
        validators=User._meta.get_field("username").validators,
    )
    password = forms.CharField(
        label=_("Your password"), widget=forms.PasswordInput(attrs={"autocomplete": "new-password"})
    )
    again = forms.CharField(
        label=_("The same once more"),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    usual = forms.BooleanField(label=_("Take what is usual there"), initial=True, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        names = [name for part in PARTS for name in part[1]]
        super().__init__(*args, in_force=[current.in_force(name) for name in names], **kwargs)
        # What nobody decided stands as its default; a name of one's own is asked for.
        self.fields["shop_name"].required = not self.fields["shop_name"].disabled
        if current.in_force("shop_name").source == "default":
            self.initial["shop_name"] = ""

    @property
    def parts(self) -> list[Group]:
        """The fields of settings under the titles of their parts."""
        by_name = {one.setting.name: one for one in self.in_force}
        return [
            Group(names[0], str(title), [(by_name[name], self[name]) for name in names])
            for title, names in PARTS
        ]

    def clean_password(self) -> str:
        """Refuse a password that is too easy."""
        password: str = self.cleaned_data["password"]
        validate_password(password)
        return password

    def clean(self) -> dict[str, Any]:
        """Ask for the same password twice."""
        cleaned = super().clean() or {}
        if "password" in cleaned and cleaned.get("again") not in (None, cleaned["password"]):
            self.add_error("again", _("The two passwords differ; type the same one twice."))
        return cleaned
