"""The words of messages: plain text with places in braces, filled in when a message is written."""

from __future__ import annotations

import re
from dataclasses import dataclass

from django.contrib.auth.models import User

from shop.accounts import roles
from shop.lib import text
from shop.lib.refusals import BadInput, bad
from shop.messages.models import Wording

LONGEST_TEXT = 8000
PLACES = {
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
    "warranty": "until when the repair is warranted",
}
# Words that a shop wrote before may still say {owner}.
OLD_PLACES = {"owner": "customer"}
_PLACE = re.compile(r"\{(\w*)\}")


@dataclass(frozen=True)
class Words:
    """Subject and text of an occasion, with places."""

    title: str
    subject: str
    text: str


_GREETING = "Hello {customer},\n\n"
_END = "\n\nWhere it is, at any time, and a place for questions:\n{link}\n\n{shop}"

OCCASIONS: dict[str, Words] = {
    "received": Words(
        "received",
        "Your {unit} is here (job {job})",
        _GREETING
        + "your {unit} has come in. You said:\n\n{complaint}\n\n"
        + "We look at it in its turn and ask you before anything that costs."
        + _END,
    ),
    "estimate": Words(
        "estimate sent",
        "Estimate for your {unit} (job {job})",
        _GREETING
        + "we know what your {unit} needs. It comes to {total}. Please look at it and say yes or no:"
        + "\n{link}\n\nUntil then we do nothing further.\n\n{shop}",
    ),
    "parts-late": Words(
        "parts late",
        "Your {unit} waits longer for parts (job {job})",
        _GREETING
        + "a part for your {unit} has not come when it should have. We are after it. {forecast}"
        + _END,
    ),
    "ready": Words(
        "ready",
        "Your {unit} is ready (job {job})",
        _GREETING
        + "your {unit} is repaired, has proved it over hours, and has passed its safety tests. "
        + "The repair is warranted until {warranty}."
        + _END,
    ),
    "unrepaired": Words(
        "goes back unrepaired",
        "Your {unit} goes back unrepaired (job {job})",
        _GREETING
        + "your {unit} goes back to you as it is. It is not safe: do not plug it in and do not open it."
        + _END,
    ),
    "shipped": Words(
        "shipped",
        "Your {unit} is on its way (job {job})",
        _GREETING
        + "your {unit} has left us with {carrier}, number {tracking}. When it is there, look at the "
        + "parcel first, and write to us the same day if it was hurt."
        + _END,
    ),
}


def words_for(about: str) -> Words:
    """Return the words of an occasion: the shop's own, else those that come along."""
    own = Wording.objects.filter(about=about).first()
    usual = OCCASIONS[about]
    return Words(usual.title, own.subject, own.text) if own else usual


def fill(words: str, values: dict[str, str]) -> str:
    """Return the words with their places filled; a place without a value falls silent."""
    return _PLACE.sub(lambda place: values.get(OLD_PLACES.get(place[1], place[1]), ""), words)


def keep(about: str, subject: str, words: str, *, by: User) -> None:
    """Keep the shop's own words; BadInput as in `check`."""
    roles.require(by, "note")
    kept = dict(zip(("subject", "text"), check(subject, words), strict=True))
    Wording.objects.update_or_create(about=about, defaults=kept)


def check(subject: str, words: str) -> tuple[str, str]:
    """Return both as they are kept; BadInput names a place that there is not, or an empty text."""
    return _checked("subject", subject, 200), _checked("text", words, LONGEST_TEXT)


def drop(about: str, *, by: User) -> None:
    """Go back to the words that come along."""
    roles.require(by, "note")
    Wording.objects.filter(about=about).delete()


def _checked(field: str, given: str, longest: int) -> str:
    kept = text.take(field, given, longest, needed=True)
    unknown = [name for name in _PLACE.findall(kept) if name not in PLACES | OLD_PLACES]
    if unknown:
        raise bad(
            field,
            f"{field} has the place {{{unknown[0]}}}; there are {', '.join(f'{{{p}}}' for p in PLACES)}.",
        )
    if field == "subject" and "\n" in kept:
        raise BadInput([(field, "subject has a line break; it is one line.")])
    return kept
