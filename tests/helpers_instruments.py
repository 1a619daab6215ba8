"""Instruments for tests, with ordinary accuracies of data sheets (common practice)."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import User

from shop.instruments import services
from shop.instruments.models import Instrument
from shop.instruments.services import About

VOLTS = ("dc-voltage", 60.0, {"reading_percent": 0.5, "counts": 2, "resolution": 0.001})
CELSIUS = ("temperature", 200.0, {"counts": 1, "resolution": 1.0})
CLAMP = ("earth-resistance", 2.0, {"reading_percent": 2.0, "counts": 2.0, "resolution": 0.01})


def instrument(name: str, *ranges: Any, by: User, **about: Any) -> Instrument:
    """Write an instrument down with ranges: (measures, up_to, what it may be off by)."""
    made = services.save(None, About(name=name, **about), by=by)
    for measures, up_to, off in ranges:
        services.save_accuracy(made, measures, up_to, off, by=by)
    return made
