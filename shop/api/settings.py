"""Settings of the shop."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext as _
from ninja import Router
from pydantic import RootModel

from shop.api import schemas
from shop.api.app import person
from shop.lib.refusals import BadInput, bad
from shop.lib.text import quoted
from shop.photos import logos
from shop.preferences import changing, countries, current
from shop.preferences.current import InForce
from shop.preferences.kinds import COUNTRY, BadText
from shop.preferences.models import SettingChange

router = Router(tags=["settings"])


class SettingOut(schemas.Strict):
    """A setting: its text, where it comes from, and what it takes."""

    name: str
    title: str
    value: str
    source: str
    kind: str
    choices: list[str]
    default: str


class UsualOut(schemas.Strict):
    """What is usual in a country for one setting, beside what is in force."""

    name: str
    value: str
    source: str
    now: str
    decided: bool


class ChangeOut(schemas.Strict):
    """One decision about a setting; the text of a secret is empty."""

    name: str
    value: str
    cleared: bool
    at: datetime
    by: str


class SettingsIn(RootModel[dict[str, str | None]]):
    """Settings to change, by name; null goes back to the default."""


@router.get("settings/", response=list[SettingOut])
def settings(request: HttpRequest) -> list[SettingOut]:
    """Return every setting of the shop with its value and source: page, environment or default."""
    person(request, "settings")
    return [_out(one) for one in current.all_in_force()]


@router.get("settings/usual/", response={200: list[UsualOut], **schemas.REFUSALS})
def usual(request: HttpRequest, country: str = "") -> list[UsualOut]:
    """Return what is usual in a country (ISO 3166) and differs from what is in force.

    Nothing is taken. Without a country it is that of the shop.
    """
    person(request, "settings")
    try:
        code = COUNTRY.read(country)
    except BadText as error:
        raise bad(
            "country",
            _("country is {country}; write {error}.").format(country=quoted(country), error=error),
        ) from None
    return [
        UsualOut(
            name=one.name,
            value=one.text,
            source=one.source,
            now=one.now.text,
            decided=not one.undecided,
        )
        for one in countries.proposals(code or current.value("country"))
    ]


@router.get("settings/history/", response=list[ChangeOut])
def history(request: HttpRequest) -> list[ChangeOut]:
    """Return the last 500 decisions about settings, newest first."""
    person(request, "settings")
    return [
        ChangeOut(name=row.name, value=row.text, cleared=row.cleared, at=row.at, by=row.by)
        for row in SettingChange.objects.order_by("-id")[:500]
    ]


@router.patch("settings/", response={200: list[SettingOut], **schemas.REFUSALS})
def change(request: HttpRequest, payload: SettingsIn) -> list[SettingOut]:
    """Change some of them; null goes back to the default. All or nothing."""
    by = person(request, "settings")
    texts = {**payload.root}
    if texts.get("logo"):
        texts["logo"] = logos.cleaned(texts["logo"] or "")
    try:
        changing.change(texts, by=by.username, at=timezone.now())
    except changing.CannotSet as error:
        raise BadInput(list(error.problems.items())) from None
    return [_out(one) for one in current.all_in_force()]


def _out(one: InForce) -> SettingOut:
    setting = one.setting
    return SettingOut(
        name=setting.name,
        title=setting.title,
        value=one.text,
        source=one.source,
        kind=setting.kind.name,
        choices=list(setting.kind.choices),
        default=setting.default,
    )
