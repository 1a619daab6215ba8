"""Writing down what was found, tried, done, needed and measured."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User

from shop.accounts import roles
from shop.bench.units import unit_of
from shop.jobs import kinds, soaking
from shop.jobs.commands import stock_sync
from shop.jobs.commands.transaction import JobTransaction, job_transaction
from shop.jobs.models import LedgerRow
from shop.jobs.record import ABOUT_A_NEED, Need
from shop.jobs.stages import Power, Stage
from shop.lib.refusals import bad, refuse


def record(number: int, kind: str, data: Any, *, by: User, at: datetime) -> LedgerRow:
    """Append a row of a kind that people write and return it.

    Recording is never refused because mains is on; a permit that falls by it takes the power
    with it. BadInput for bad data, Refused when the job cannot take the row now.
    """
    cleaned = kinds.clean(kind, data)
    roles.require(by, kinds.KINDS[kind].ability)
    with job_transaction(number, by=by, at=at) as tx:
        if tx.job.closed and not kinds.KINDS[kind].on_closed_job:
            raise refuse("closed", "The job is closed; only notes can be added.")
        if kind == "shipped" and not tx.job.closed:
            raise refuse("not-closed", "The unit is on the bench: release or withdraw it first.")
        if kind.startswith("part_"):
            stock_sync.known_part(cleaned)
        if kind in ABOUT_A_NEED:
            need = _which_need(tx, kind, cleaned)
            cleaned["need"] = need.sequence
            stock_sync.follow(tx, kind, need, cleaned)
        if kind.startswith("soak_"):
            _check_soak(tx, kind)
        if kind == "soak_reading":
            _require_unit(cleaned)
        if kind == "suspect_changed":
            cleaned["suspect"] = _suspect_key(tx, cleaned["suspect"])
        if kind == "soak_ended":
            cleaned |= _judged_end(tx, cleaned)
        if kind == "complaint_recorded":
            tx.job.complaint = cleaned["text"]
            tx.changed("complaint")
        return tx.write(kind, cleaned)


_STILL_OPEN: dict[str, Callable[[Need], bool]] = {
    "part_ordered": lambda need: not need.ordered,
    "part_arrived": lambda need: not need.arrived,
    "part_fitted": lambda need: not need.fitted,
    "part_lost": lambda need: need.ordered and not need.fitted,
    "part_specified": lambda need: not need.fitted,
}


def _which_need(tx: JobTransaction, kind: str, data: dict[str, Any]) -> Need:
    """Return the need that a part row speaks of: by number, by spec, or the only one there is."""
    needs = tx.record.needs
    if "need" in data:
        found = [need for need in needs if need.sequence == data["need"]]
        if not found:
            raise bad("need", f"need is {data['need']}; this job has no part need of that number.")
        # Ordered and fitted may be said again; these would undo or double what is on record.
        if kind in ("part_arrived", "part_lost", "part_specified"):
            _require_open(kind, found[0])
        return found[0]
    if data.get("spec"):
        needs = [need for need in needs if need.spec == data["spec"]]
        if not needs:
            raise bad("spec", f"spec is {data['spec']!r}; this job has no part need of that spec.")
    candidates = [need for need in needs if _STILL_OPEN[kind](need)]
    if not candidates:
        said = kind.removeprefix("part_")
        raise refuse("no-need", f"No part need of this job is still to be {said}.")
    if len(candidates) > 1 and not data.get("spec"):
        numbers = ", ".join(f"{need.sequence} ({need.spec})" for need in candidates)
        raise bad("need", f"need is missing; this job has several: {numbers}.")
    return candidates[0]


def _require_open(kind: str, need: Need) -> None:
    if _STILL_OPEN[kind](need):
        return
    if need.fitted:
        raise refuse("no-need", f"{need.spec} is fitted already.")
    if kind == "part_lost":
        raise refuse("no-need", f"{need.spec} is not on order.")
    raise refuse("no-need", f"{need.spec} is here already.")


def _check_soak(tx: JobTransaction, kind: str) -> None:
    running = tx.record.soak == "running"
    if kind == "soak_started":
        if tx.job.stage != Stage.SOAKING or tx.job.power != Power.FULL:
            raise refuse(
                "not-soaking", "A soak starts in stage soaking with power full; move there first."
            )
        if running:
            raise refuse("soak-running", "The soak is running already.")
    elif not running:
        raise refuse("no-soak", "No soak is running; start it first.")


def _require_unit(data: dict[str, Any]) -> None:
    """A quantity with a limit is read in its own unit: 0.2 V must not pass as 0.2 mV."""
    quantity = soaking.known_quantity(data["quantity"])
    wanted = unit_of(quantity)
    typed = data["unit"].lstrip("\u00b0")
    if wanted and typed and typed != wanted:
        raise bad("unit", f"unit is {data['unit']}; {quantity} is read in {wanted}.")


def _suspect_key(tx: JobTransaction, named: str) -> str:
    """Return the key of a suspect that the pack knows by this title; other names stay."""
    known = {one.title: one.key for one in tx.checklist.pack.suspects}
    return known.get(named, named)


def _judged_end(tx: JobTransaction, data: dict[str, Any]) -> dict[str, Any]:
    """Return the result of a soak by its readings: what failed cannot be written down as passed."""
    run = soaking.soak_of(tx.record, tx.checklist)
    if run is None:
        return {}
    said = [*run.verdict.reasons, *run.verdict.doubts]
    result = "fail" if run.verdict.failed else data["result"]
    return {"result": result, "asked": data["result"], "reasons": said}
