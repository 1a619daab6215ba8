"""The parts that a job needs, what lies free in the bins, and what earlier jobs took."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from shop.jobs import queries
from shop.jobs.events.forms import EventForm
from shop.jobs.events.part_fitted import FittedForm
from shop.jobs.events.part_needed import PartForm
from shop.jobs.needs import Need
from shop.jobs.queries import Traveller
from shop.pages.job.unit_sheet import findings
from shop.parts import stock


@dataclass(frozen=True)
class PartView:
    """A part need on the sheet, with how many of it lie free in the bins."""

    need: Need
    free: int
    # How it was fitted, when not by a hand inside; `open` when it came back with a refusal.
    fitting: EventForm
    open: bool


def parts(traveller: Traveller, typed: EventForm | None = None) -> dict[str, Any]:
    """Return the parts needed, and what earlier jobs on this model took."""
    job = traveller.job
    kit = [] if job.closed else queries.kit_for(job)
    return {
        "parts": _needs(traveller.record.needs, typed),
        "needed": typed if isinstance(typed, PartForm) else PartForm(),
        "findings": findings(traveller.record.facts.get("findings")),
        "kit": kit,
    }


def _needs(needs: list[Need], typed: EventForm | None) -> list[PartView]:
    wanted = [need.part for need in needs if need.part and need.outstanding]
    free = stock.free_by_part(wanted) if wanted else {}
    return [_need(need, free.get(need.part or 0, 0), typed) for need in needs]


def _need(need: Need, free: int, typed: EventForm | None) -> PartView:
    came_back = isinstance(typed, FittedForm) and typed.data.get("need") == str(need.sequence)
    if typed is not None and came_back:
        return PartView(need, free, typed, open=True)
    return PartView(need, free, FittedForm(auto_id=f"fitted-{need.sequence}-%s"), open=False)
