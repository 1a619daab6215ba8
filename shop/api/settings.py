"""Settings of the shop."""

from __future__ import annotations

from django.http import HttpRequest
from django.utils import timezone
from ninja import Router
from pydantic import RootModel

from shop.api import schemas
from shop.api.app import person
from shop.lib.refusals import BadInput
from shop.preferences import changing, current
from shop.preferences.current import InForce

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


class SettingsIn(RootModel[dict[str, str | None]]):
    """Settings to change, by name; null goes back to the default."""


@router.get("settings/", response=list[SettingOut])
def settings(request: HttpRequest) -> list[SettingOut]:
    """Return every setting of the shop with its value and source: page, environment or default."""
    person(request, "settings")
    return [_out(one) for one in current.all_in_force()]


@router.patch("settings/", response={200: list[SettingOut], **schemas.REFUSALS})
def change(request: HttpRequest, payload: SettingsIn) -> list[SettingOut]:
    """Change some of them; null goes back to the default. All or nothing."""
    by = person(request, "settings")
    try:
        changing.change(payload.root, by=by.username, at=timezone.now())
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
