"""Values as people read them: words, amounts, times, and places on drawings."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from django import template
from django.utils.translation import gettext

from checklists.engine.figures import one_reading
from shop.lib import charts, languages, pack_words, signs, text
from shop.lib.money import formatted, formatted_unit_price
from shop.preferences import current as preferences

register = template.Library()
register.filter(charts.percent)
register.filter(pack_words.pack_reason)
register.filter(pack_words.pack_text)
register.filter(pack_words.pack_trigger)
register.filter(pack_words.pack_value)
register.filter(pack_words.pack_word)
register.filter(pack_words.pack_words)
register.filter(text.spaced)
register.filter(signs.unit_sign)
register.filter(signs.typeset)


@register.filter
def plain(value: object) -> str:
    """Return a fact's value in words."""
    if isinstance(value, bool):
        return gettext("yes") if value else gettext("no")
    return text.plain(value) or gettext("none")


@register.filter
def money(amount: object) -> str:
    """Return an amount with the shop's currency: cents always, finer prices as they are."""
    return brief_price(amount, preferences.value("currency"))


@register.filter
def brief_price(amount: object, currency: str) -> str:
    """Return an amount with its currency: cents always, finer prices as they are."""
    return formatted_unit_price(Decimal(str(amount)), currency)


@register.filter
def price(amount: Decimal, currency: str) -> str:
    """Return an amount that can be paid for people: '1 234.50 EUR'."""
    return formatted(amount, currency)


@register.filter
def brief(number: Decimal) -> str:
    """Return '0.5' for 0.500, '19' for 19.00, and '0,5' where people write it so."""
    if not languages.is_english():
        return languages.number(number.normalize())
    return one_reading(f"{number.normalize():f}")


@register.filter
def day(at: datetime | date | None) -> str:
    """Return a day in words, in the language of the page: '3 March 2031'; nothing for none."""
    return languages.day(at) if at else ""


@register.filter
def day_of_year(at: datetime | date | None) -> str:
    """Return a day without its year: '3 March'; nothing for none."""
    return languages.day_of_year(at) if at else ""


@register.filter(expects_localtime=True)
def moment(at: datetime | date | None, pattern: str) -> str:
    """Return a day or a moment in the order of the language: 'j F, H:i' in English; nothing for none."""
    return languages.moment(at, pattern) if at else ""


@register.filter
def dialled(number: str) -> str:
    """Return a telephone number as a link dials it: figures, and a plus in front."""
    figures = "".join(sign for sign in number if sign.isascii() and sign.isdigit())
    return f"+{figures}" if number.strip().startswith("+") else figures


@register.filter
def nth(number: int) -> str:
    """Return 2nd, 3rd, 4th."""
    ending = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th") if number // 10 != 1 else "th"
    return f"{number}{ending}"


@register.filter
def is_amount(value: object) -> bool:
    """Whether a value is a number that can stand as a reading."""
    return isinstance(value, int | float) and not isinstance(value, bool)


@register.filter
def hours(minutes: float) -> str:
    """Return '1 h 20 min' for 80."""
    whole = int(minutes)
    return f"{whole // 60} h {whole % 60} min" if whole >= 60 else f"{whole} min"


@register.filter
def dot(number: float) -> str:
    """Return a number as a drawing wants it, whatever the language of the page."""
    return f"{float(number):g}"


@register.filter
def hundred(share: float) -> float:
    """Return a share of 1 as one of 100."""
    return 100 * float(share)


@register.filter
def add_to(number: float, more: float) -> float:
    """Return the sum of two places on a drawing."""
    return float(number) + float(more)
