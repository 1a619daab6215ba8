"""Values of instruments on pages."""

from __future__ import annotations

from django import template

from checklists.engine.words import MEASURED
from shop.instruments import scpi
from shop.instruments.accuracies import amount
from shop.instruments.models import Instrument

register = template.Library()


@register.filter
def of_unit(value: float, measures: str) -> str:
    """Return '12.3 mV': a value in the unit without a prefix of what is measured."""
    return amount(value, MEASURED[measures][1])


@register.filter
def asked_for(instrument: Instrument, measures: str) -> str:
    """Return what an instrument is asked for a quantity."""
    return str(instrument.connection.commands[measures] or scpi.STANDARD[measures])
