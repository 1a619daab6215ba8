"""Templates of messages: plain text with placeholders in braces, filled in when a message is written."""

from __future__ import annotations

import re
from dataclasses import dataclass

from django.contrib.auth.models import User
from django.utils.translation import gettext as _

from shop.accounts import roles
from shop.lib import text
from shop.lib.refusals import BadInput, bad
from shop.messages.models import MessageTemplate

LONGEST_TEXT = 8000
PLACEHOLDERS = {
    "customer": "the customer's name",
    "unit": "make and model",
    "job": "the number of the job",
    "shop": "the name of the shop",
    "link": "the customer's page of this unit",
    "complaint": "what the customer said",
    "total": "what the last estimate comes to",
    "forecast": "when it will probably be ready",
    "carrier": "who carries it",
    "tracking": "the carrier's number",
    "follow": "where the parcel is followed, for a carrier of the settings",
    "warranty": "until when the repair is warranted",
    "bill": "the bill or credit note with its number",
    "owed": "what is owed of it, and until when",
}
# Words that a shop wrote before may still say {owner}.
OLD_PLACEHOLDERS = {"owner": "customer"}
_PLACEHOLDER = re.compile(r"\{(\w*)\}")


@dataclass(frozen=True)
class TemplateText:
    """Title, subject and text of an occasion, with placeholders."""

    title: str
    subject: str
    text: str


_GREETING = "Hello {customer},\n\n"
END = "\n\nWhere it is, at any time, and a place for questions:\n{link}\n\n{shop}"

DEFAULTS: dict[str, TemplateText] = {
    "received": TemplateText(
        "received",
        "Your {unit} is here (job {job})",
        _GREETING
        + "your {unit} has come in. You said:\n\n{complaint}\n\n"
        + "We look at it in its turn and ask you before anything that costs."
        + END,
    ),
    "estimate": TemplateText(
        "estimate sent",
        "Estimate for your {unit} (job {job})",
        _GREETING
        + "we know what your {unit} needs. It comes to {total}. Please look at it and say yes or no:"
        + "\n{link}\n\nUntil then we do nothing further.\n\n{shop}",
    ),
    "parts-late": TemplateText(
        "parts late",
        "Your {unit} waits longer for parts (job {job})",
        _GREETING
        + "a part for your {unit} has not come when it should have. We are after it. {forecast}"
        + END,
    ),
    "ready": TemplateText(
        "ready",
        "Your {unit} is ready (job {job})",
        _GREETING
        + "your {unit} is repaired, has proved it over hours, and has passed its safety tests. "
        + "The repair is warranted until {warranty}."
        + END,
    ),
    "unrepaired": TemplateText(
        "goes back unrepaired",
        "Your {unit} goes back unrepaired (job {job})",
        _GREETING
        + "your {unit} goes back to you as it is. It is not safe: do not plug it in and do not open it."
        + END,
    ),
    "shipped": TemplateText(
        "shipped",
        "Your {unit} is on its way (job {job})",
        _GREETING
        + "your {unit} has left us with {carrier}, number {tracking}. {follow}\n\nWhen it is there, look"
        + " at the parcel first, and write to us the same day if it was hurt."
        + END,
    ),
    "bill": TemplateText(
        "bill",
        "{bill} for your {unit} (job {job})",
        _GREETING
        + "here is what your {unit} comes to: {bill}. {owed}\n\nIt stands on your page too, with a "
        + "place for questions:\n{link}\n\n{shop}",
    ),
    "payment": TemplateText(
        "payment reminder",
        "{bill} for your {unit} is open (job {job})",
        _GREETING
        + "perhaps it slipped by: {bill} for your {unit} is open. {owed}\n\nIf you paid in these "
        + "days, there is nothing to do. If something about it is wrong, tell us:\n{link}\n\n{shop}",
    ),
}


def template_for(about: str) -> TemplateText:
    """Return the template of an occasion: the shop's own, else the default."""
    own = MessageTemplate.objects.filter(about=about).first()
    default = DEFAULTS[about]
    return TemplateText(default.title, own.subject, own.text) if own else default


def fill(words: str, values: dict[str, str]) -> str:
    """Return the words with their placeholders filled; one without a value becomes nothing."""
    return _PLACEHOLDER.sub(
        lambda match: values.get(OLD_PLACEHOLDERS.get(match[1], match[1]), ""), words
    )


def save(about: str, subject: str, words: str, *, by: User) -> None:
    """Keep the shop's own template; BadInput as in `validate`."""
    roles.require(by, "note")
    texts = dict(zip(("subject", "text"), validate(subject, words), strict=True))
    MessageTemplate.objects.update_or_create(about=about, defaults=texts)


def validate(subject: str, words: str) -> tuple[str, str]:
    """Return both as they are kept; BadInput names a placeholder that there is not, or an empty text."""
    return _validated("subject", subject, 200), _validated("text", words, LONGEST_TEXT)


def reset(about: str, *, by: User) -> None:
    """Go back to the default."""
    roles.require(by, "note")
    MessageTemplate.objects.filter(about=about).delete()


def _validated(field: str, given: str, longest: int) -> str:
    checked = text.take(field, given, longest, needed=True)
    unknown = [
        name
        for name in _PLACEHOLDER.findall(checked)
        if name not in PLACEHOLDERS | OLD_PLACEHOLDERS
    ]
    if unknown:
        raise bad(
            field,
            _("{field} has the placeholder {{{unknown}}}; there are {these}.").format(
                field=field, unknown=unknown[0], these=", ".join(f"{{{p}}}" for p in PLACEHOLDERS)
            ),
        )
    if field == "subject" and "\n" in checked:
        raise BadInput([(field, _("subject has a line break; it is one line."))])
    return checked
