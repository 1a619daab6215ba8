"""The start and the end of a soak, each with what stands on the same card: all of it or nothing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from checklists.engine.judging import PASS
from shop.jobs.commands.recording import record
from shop.jobs.commands.signing import sign, sign_together
from shop.jobs.commands.transitions import set_stage
from shop.jobs.events.soak_ended import SoakEnded
from shop.jobs.events.soak_started import SoakStarted
from shop.jobs.models import LedgerRow
from shop.jobs.stages import Stage


def start_soak(
    number: int, first: str, given: Mapping[str, Any], *, by: User, at: datetime
) -> LedgerRow:
    """Move the job to its soak and start the clock; return the row of the start.

    `first`: a step that is passed before, with what `sign` takes (`given`); empty when none is due.
    Refused when anything else is in the way: nothing is written then.
    """
    with transaction.atomic():
        if first:
            sign(number, first, result=PASS, by=by, at=at, **given)
        set_stage(number, Stage.SOAKING, by=by, at=at)
        return record(number, SoakStarted.event_type, {}, by=by, at=at)


def end_soak_well(
    number: int, steps: Sequence[tuple[str, Mapping[str, Any]]], *, by: User, at: datetime
) -> LedgerRow:
    """Write that a soak ran well, pass the steps with it, and return the row of the end.

    Each step comes with what `sign` takes for it, as in `sign_together`. Where the readings say
    that the soak failed, that is written, and nothing is signed.
    """
    with transaction.atomic():
        ended = record(number, SoakEnded.event_type, {"result": PASS}, by=by, at=at)
        if steps and ended.data["result"] == PASS:
            sign_together(number, steps, by=by, at=at)
        return ended
