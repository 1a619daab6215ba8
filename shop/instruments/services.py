"""Writing instruments, and remembering which one somebody used last."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.utils.translation import gettext

from checklists.engine.words import MEASURED
from shop.accounts import roles
from shop.instruments.models import Accuracy, Instrument, LastUsed
from shop.lib import text
from shop.lib.refusals import BadInput, bad

ABILITY = "settings"
MOST_RANGES = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What an instrument is called and when it was calibrated."""

    name: object
    make_model: object = ""
    serial: object = ""
    calibrated_on: date | None = None
    due_on: date | None = None


def save(instrument: Instrument | None, about: About, *, by: User) -> Instrument:
    """Write an instrument down, or change it; BadInput with a sentence, also for a name in use."""
    roles.require(by, ABILITY)
    kept = instrument or Instrument()
    kept.name = text.take("name", about.name, 80, needed=True)
    kept.make_model = text.take("make_model", about.make_model, 120)
    kept.serial = text.take("serial", about.serial, 120)
    kept.calibrated_on, kept.due_on = about.calibrated_on, about.due_on
    if kept.calibrated_on and kept.due_on and kept.due_on < kept.calibrated_on:
        raise bad(
            "due_on",
            gettext(
                "due_on is {due_on}; it must not be before the calibration, {calibrated_on}."
            ).format(due_on=kept.due_on, calibrated_on=kept.calibrated_on),
        )
    try:
        with transaction.atomic():
            kept.save()
    except IntegrityError:
        raise bad(
            "name", gettext("name is {name}; another instrument has it.").format(name=kept.name)
        ) from None
    return kept


def set_retired(instrument: Instrument, at: datetime | None, *, by: User) -> None:
    """Retire an instrument, or take it back into use (None); nothing that it measured changes."""
    roles.require(by, ABILITY)
    instrument.retired_at = at
    instrument.save(update_fields=["retired_at"])


def save_accuracy(
    instrument: Instrument, measures: str, up_to: float, off: Mapping[str, float], *, by: User
) -> Accuracy:
    """Write the accuracy of one range, in place of the one that ends there.

    up_to and `resolution` in the unit of what is measured, without a prefix; `off` also has
    reading_percent, range_percent, counts. BadInput with a sentence.
    """
    roles.require(by, ABILITY)
    if measures not in MEASURED:
        raise bad(
            "measures",
            gettext("measures is {measures}; choose from the list.").format(
                measures=text.quoted(measures)
            ),
        )
    _require_sensible(up_to, off)
    if instrument.accuracies.count() >= MOST_RANGES:
        raise bad(
            "up_to",
            gettext("{instrument} has {most_ranges} ranges; take one off first.").format(
                instrument=instrument, most_ranges=MOST_RANGES
            ),
        )
    kept, _ = Accuracy.objects.update_or_create(
        instrument=instrument, measures=measures, up_to=up_to, defaults=dict(off)
    )
    return kept


def _require_sensible(up_to: float, off: Mapping[str, float]) -> None:
    problems = []
    if not (math.isfinite(up_to) and 0 < up_to <= 1e12):
        problems.append(
            ("up_to", gettext("up_to is {up_to:g}; it must be above 0.").format(up_to=up_to))
        )
    ends = {"reading_percent": 100, "range_percent": 100, "counts": 10_000, "resolution": up_to}
    for name, highest in ends.items():
        value = off.get(name, 0.0)
        if not (math.isfinite(value) and 0 <= value <= highest):
            problems.append(
                (
                    name,
                    gettext("{name} is {value:g}; it must be from 0 to {highest:g}.").format(
                        name=name, value=value, highest=highest
                    ),
                )
            )
    if not problems and off.get("counts") and not off.get("resolution"):
        problems.append(("resolution", gettext("resolution is missing; counts are counts of it.")))
    if not problems and not any(
        off.get(name) for name in ("reading_percent", "range_percent", "resolution")
    ):
        problems.append(
            ("reading_percent", gettext("reading_percent and the others are empty; give one."))
        )
    if problems:
        raise BadInput(problems)


def delete_accuracy(instrument: Instrument, number: int, *, by: User) -> None:
    """Take a range off."""
    roles.require(by, ABILITY)
    instrument.accuracies.filter(pk=number).delete()


def remember(by: User, used: Mapping[str, Instrument | None]) -> None:
    """Remember which instrument somebody used for what it measures; None forgets the last one."""
    for measures, instrument in used.items():
        if instrument is None:
            LastUsed.objects.filter(by=by, measures=measures).delete()
        else:
            LastUsed.objects.update_or_create(
                by=by, measures=measures, defaults={"instrument": instrument}
            )
