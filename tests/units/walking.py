"""A walk of one unit through the real shop, in process, on the clock of its technician."""

from __future__ import annotations

from datetime import datetime
from functools import cache

import time_machine
from django.conf import settings
from django.db import transaction

from checklists.engine import bench_units
from checklists.engine.bench_units import BenchUnits, Unit
from shop.accounts import roles
from tests.units.technician import Stop, Technician

OPENING_TIME = datetime.fromisoformat("2026-03-02T09:00:00+00:00")


@cache
def shipped() -> BenchUnits:
    return bench_units.read(settings.PACK_FOLDER)


def walked(unit: Unit, *, tells_all: bool = True) -> Technician:
    """Return the technician after his way; the database is left as it was."""
    with time_machine.travel(OPENING_TIME, tick=False) as clock, transaction.atomic():
        by = roles.make_user("bench-technician", "technician")
        technician = Technician(unit, shipped(), by, OPENING_TIME, clock.move_to, tells_all)
        technician.walk()
        transaction.set_rollback(True)
    return technician


def faults_of(technician: Technician) -> list[str]:
    """Return what did not go as it must, a sentence each."""
    sick, stops = technician.unit.sick, technician.stops
    faults: list[str] = []
    if sick is not None:
        by = set(sick.stopped_by)
        faults = _wrongly_stopped(stops[0], by, sick.says) if stops else ["nothing stopped it"]
    faults += [f"{work} was not done" for work in technician.left]
    return faults if technician.released else [*faults, "not released"]


def _wrongly_stopped(first: Stop, by: set[str], says: list[str]) -> list[str]:
    faults = []
    if first.step not in by:
        faults.append(f"{first.step} stopped it, not {' or '.join(sorted(by))}")
    if not by & set(first.against):
        faults.append(f"in the way stood only {', '.join(first.against) or 'nothing'}")
    if not any(word in first.words for word in says):
        faults.append(f"nothing said {' or '.join(says)}: {first.words}")
    return faults
