"""What may stand in each field about a customer or an arrival, with a sentence for what may not."""

from __future__ import annotations

from collections.abc import Callable

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.utils.functional import Promise
from django.utils.translation import gettext as _

from shop.customers.models import Customer, Intake
from shop.lib import text
from shop.lib.customer_words import field_name
from shop.lib.refusals import bad
from shop.lib.text import quoted
from shop.preferences import current as preferences
from shop.preferences import languages
from shop.preferences.kinds import COUNTRY, BadText


def _text(longest: int) -> Callable[[str, str], str]:
    return lambda field, value: text.take(field, value, longest)


def _word(choices: tuple[tuple[str, str | Promise], ...]) -> Callable[[str, str], str]:
    known = dict(choices)

    def read(field: str, value: str) -> str:
        if value and value not in known:
            raise bad(
                field,
                _("{field} is {value}; it must be one of {these}.").format(
                    field=field, value=quoted(value), these=", ".join(known)
                ),
            )
        return value

    return read


def email(field: str, given: str) -> str:
    """Return an e-mail address or nothing; BadInput for what is none."""
    kept = text.take(field, given, 254)
    if kept:
        try:
            validate_email(kept)
        except ValidationError:
            words = _("{field} is {value}; write it like name@example.org.")
            sentence = words.format(field=field_name(field), value=quoted(kept))
            raise bad(field, sentence) from None
    return kept


def country(field: str, given: str) -> str:
    """Return a country by its two letters, or nothing; BadInput for what is none."""
    kept = text.take(field, given, 60)
    try:
        return COUNTRY.read(kept)
    except BadText as error:
        words = _("{field} is {value}; write {right}.")
        right = preferences.right(error)
        raise bad(field, words.format(field=field, value=quoted(kept), right=right)) from None


READ: dict[str, Callable[[str, str], str]] = {
    "name": _text(200),
    "email": email,
    "phone": _text(60),
    "address": _text(1000),
    "post_code": _text(20),
    "city": _text(100),
    "country": country,
    "contact_by": _word(Customer.WAYS),
    "language": _word(languages.CHOICES),
    "came_by": _word(Intake.CAME_BY),
    "parcel": _word(Intake.PARCELS),
    "accessories": _text(4000),
    "ring_above": _text(20),
}
