"""What the shop reads about its messages: the occasions, and the places that a text of them can have."""

from __future__ import annotations

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _
from django.utils.translation import pgettext_lazy

TITLES: dict[str, Promise] = {
    "received": pgettext_lazy("message", "received"),
    "estimate": pgettext_lazy("message", "estimate sent"),
    "parts-late": pgettext_lazy("message", "parts late"),
    "ready": pgettext_lazy("message", "ready"),
    "unrepaired": pgettext_lazy("message", "goes back unrepaired"),
    "shipped": pgettext_lazy("message", "shipped"),
    "bill": pgettext_lazy("message", "bill"),
    "payment": pgettext_lazy("message", "payment reminder"),
}
# What one message is about, in a list of several.
_NAMES: dict[str, Promise] = {
    **TITLES,
    "estimate": pgettext_lazy("message", "estimate"),
    "unrepaired": pgettext_lazy("message", "unrepaired"),
    "payment": pgettext_lazy("message", "payment"),
    "message": pgettext_lazy("message", "message"),
}
PLACEHOLDERS: dict[str, Promise] = {
    "customer": _("the customer's name"),
    "unit": _("make and model"),
    "job": _("the number of the job"),
    "shop": _("the name of the shop"),
    "link": _("the customer's page of this unit"),
    "complaint": _("what the customer said"),
    "total": _("what the last estimate comes to"),
    "forecast": _("when it will probably be ready"),
    "carrier": _("who carries it"),
    "tracking": _("the carrier's number"),
    "follow": _("where the parcel is followed, for a carrier of the settings"),
    "warranty": _("until when the repair is warranted"),
    "bill": _("the bill or credit note with its number"),
    "owed": _("what is owed of it, and until when"),
}


def name_of(about: str) -> str:
    """Return what a message is about: 'parts late'."""
    return str(_NAMES.get(about, about.replace("-", " ")))
