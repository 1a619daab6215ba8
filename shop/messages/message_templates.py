"""Templates of messages: plain text with placeholders in braces, filled in when a message is written.

The shop's own words count for the one language that they were written in; whoever reads another
gets the default in theirs.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from django.contrib.auth.models import User
from django.utils.functional import Promise, lazy
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from shop.accounts import roles
from shop.customers.languages import usual_language
from shop.lib import text
from shop.lib.languages import in_force
from shop.lib.refusals import BadInput, bad
from shop.messages.models import MessageTemplate
from shop.messages.occasions import PLACEHOLDERS

LONGEST_TEXT = 8000
# Words that a shop wrote before may still say {owner}.
OLD_PLACEHOLDERS = {"owner": "customer"}
_PLACEHOLDER = re.compile(r"\{(\w*)\}")


@dataclass(frozen=True)
class TemplateText:
    """Subject and text of an occasion, with placeholders."""

    subject: str | Promise
    text: str | Promise


_GREETING = _("Hello {customer},")


def _joined(*paragraphs: str | Promise) -> str:
    return "\n\n".join(str(one) for one in paragraphs)


_paragraphs = lazy(_joined, str)
END = _paragraphs(_("Where it is, at any time, and a place for questions:\n{link}"), "{shop}")

# Subjects and texts are in whatever language is in force when they are read.
DEFAULTS: dict[str, TemplateText] = {
    "received": TemplateText(
        _("Your {unit} is here (job {job})"),
        _paragraphs(
            _GREETING,
            _("your {unit} has come in. You said:"),
            "{complaint}",
            _("We look at it in its turn and ask you before anything that costs."),
            END,
        ),
    ),
    "estimate": TemplateText(
        _("Estimate for your {unit} (job {job})"),
        _paragraphs(
            _GREETING,
            _(
                "we know what your {unit} needs. It comes to {total}. Please look at it and say yes "
                "or no:\n{link}"
            ),
            _("Until then we do nothing further."),
            "{shop}",
        ),
    ),
    "parts-late": TemplateText(
        _("Your {unit} waits longer for parts (job {job})"),
        _paragraphs(
            _GREETING,
            _(
                "a part for your {unit} has not come when it should have. We are after it. {forecast}"
            ),
            END,
        ),
    ),
    "ready": TemplateText(
        _("Your {unit} is ready (job {job})"),
        _paragraphs(
            _GREETING,
            _(
                "your {unit} is repaired, has proved it over hours, and has passed its safety tests. "
                "The repair is warranted until {warranty}."
            ),
            END,
        ),
    ),
    "unrepaired": TemplateText(
        _("Your {unit} goes back unrepaired (job {job})"),
        _paragraphs(
            _GREETING,
            _(
                "your {unit} goes back to you as it is. It is not safe: do not plug it in and do not "
                "open it."
            ),
            END,
        ),
    ),
    "shipped": TemplateText(
        _("Your {unit} is on its way (job {job})"),
        _paragraphs(
            _GREETING,
            _("your {unit} has left us with {carrier}, number {tracking}. {follow}"),
            _(
                "When it is there, look at the parcel first, and write to us the same day if it was "
                "hurt."
            ),
            END,
        ),
    ),
    "bill": TemplateText(
        _("{bill} for your {unit} (job {job})"),
        _paragraphs(
            _GREETING,
            _("here is what your {unit} comes to: {bill}. {owed}"),
            _("It stands on your page too, with a place for questions:\n{link}"),
            "{shop}",
        ),
    ),
    "payment": TemplateText(
        _("{bill} for your {unit} is open (job {job})"),
        _paragraphs(
            _GREETING,
            _("perhaps it slipped by: {bill} for your {unit} is open. {owed}"),
            _(
                "If you paid in these days, there is nothing to do. If something about it is wrong, "
                "tell us:\n{link}"
            ),
            "{shop}",
        ),
    ),
}


def template_for(about: str) -> TemplateText:
    """Return the template of an occasion in the language in force: the shop's own, else the default."""
    own = own_template(about, in_force())
    default = DEFAULTS[about]
    if own is not None:
        return TemplateText(own.subject, own.text)
    return TemplateText(str(default.subject), str(default.text))


def own_template(about: str, language: str) -> MessageTemplate | None:
    """Return the shop's own words of an occasion for a language, or None."""
    return MessageTemplate.objects.filter(about=about, language=language).first()


def fill(words: str | Promise, values: dict[str, str]) -> str:
    """Return the words with their placeholders filled; one without a value becomes nothing."""
    return _PLACEHOLDER.sub(
        lambda match: values.get(OLD_PLACEHOLDERS.get(match[1], match[1]), ""), str(words)
    )


def save(about: str, subject: str, words: str, *, by: User, language: str = "") -> None:
    """Keep the shop's own template for a language; BadInput as in `validate`.

    Without a language it is for that of the shop's customers.
    """
    roles.require(by, "note")
    texts = dict(zip(("subject", "text"), validate(subject, words), strict=True))
    MessageTemplate.objects.update_or_create(
        about=about, language=language or usual_language(), defaults=texts
    )


def validate(subject: str, words: str) -> tuple[str, str]:
    """Return both as they are kept; BadInput names a placeholder that there is not, or an empty text."""
    return _validated("subject", subject, 200), _validated("text", words, LONGEST_TEXT)


def reset(about: str, *, by: User, language: str = "") -> None:
    """Go back to the default in a language."""
    roles.require(by, "note")
    kept = MessageTemplate.objects.filter(about=about, language=language or usual_language())
    kept.delete()


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
            gettext("{field} has the placeholder {{{unknown}}}; there are {these}.").format(
                field=field, unknown=unknown[0], these=", ".join(f"{{{p}}}" for p in PLACEHOLDERS)
            ),
        )
    if field == "subject" and "\n" in checked:
        raise BadInput([(field, gettext("subject has a line break; it is one line."))])
    return checked
