"""What a job's row must say of stage, power and cover: its ledger played again from the first row.

The columns are kept by every command. Where they came from outside, by a file that somebody else
held, they are believed only when the ledger gives the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field

from shop.jobs.events import stored
from shop.jobs.events.cover_fitted import CoverFitted
from shop.jobs.events.cover_removed import CoverRemoved
from shop.jobs.events.jobs_joined import JobsJoined
from shop.jobs.events.permit_granted import PermitGranted
from shop.jobs.events.plug_doubted import PlugDoubted
from shop.jobs.events.power_applied import PowerApplied
from shop.jobs.events.power_removed import PowerRemoved
from shop.jobs.events.stage_changed import StageChanged
from shop.jobs.ledger import AnyRow
from shop.jobs.models import Job
from shop.jobs.stages import CLOSED, OPEN, Cover, Power, Stage

# After these nobody has to pull a plug; after any other reason why mains went, somebody has.
_BY_HAND = ("taken off by hand", "plug confirmed out")


@dataclass
class Replayed:
    """Where the ledger of a job leaves it, and a sentence for each row that cannot be."""

    stage: str = Stage.RECEIVED.value
    power: str = Power.ISOLATED.value
    cover: str = Cover.ON.value
    # None where the ledger of this job alone does not tell.
    unplug_due: bool | None = False
    permit: str = ""
    faults: list[str] = field(default_factory=list)

    def become(self, **changed: str | bool | None) -> None:
        """Take what a row says."""
        for name, value in changed.items():
            setattr(self, name, value)


def replayed(rows: Iterable[AnyRow]) -> Replayed:
    """Play the rows of a job, oldest first."""
    state = Replayed()
    for row in rows:
        play = _PLAYED.get(row.event_type)
        if play is not None:
            play(state, row)
    return state


def faults(job: Job, rows: Iterable[AnyRow], live_permits: Sequence[str]) -> list[str]:
    """Return a sentence for each column of a job, and each live permit, that its ledger does not give.

    `live_permits` are the powers of its permits that have not ended.
    """
    state = replayed(rows)
    said = {"stage": str(job.stage), "power": str(job.power), "cover": str(job.cover)}
    found = [
        f"Job {job.number} says {name} {value[:20]!r}; its ledger says {getattr(state, name)!r}."
        for name, value in said.items()
        if value != getattr(state, name)
    ]
    closed = state.stage in CLOSED
    if (job.closed_at is not None) != closed:
        found.append(f"Job {job.number} is {_open(closed)} by its ledger; its row says otherwise.")
    if state.unplug_due and not job.unplug_due:
        found.append(f"Job {job.number} does not ask for the plug; by its ledger it may be in.")
    found += _permit_faults(job.number, state, live_permits)
    return [f"Job {job.number}: {fault}" for fault in state.faults] + found


def _open(closed: bool) -> str:
    return "closed" if closed else "open"


def _permit_faults(number: int, state: Replayed, live: Sequence[str]) -> list[str]:
    wanted = [] if state.power == Power.ISOLATED else [state.power]
    if sorted(live) == wanted:
        return []
    has = f"a live permit for {' and '.join(sorted(live))[:60]}" if live else "no live permit"
    needs = f"one for {state.power}" if wanted else "none"
    return [f"Job {number} has {has}; by its ledger there is {needs}."]


def _stage(state: Replayed, row: AnyRow) -> None:
    to = stored.text(row.data, "to")
    if to not in (*OPEN, *CLOSED):
        state.faults.append(f"row {row.sequence} does not say which stage it went to.")
    if to in CLOSED and state.power != Power.ISOLATED:
        state.faults.append(f"row {row.sequence} closes it while mains is on.")
    state.become(stage=to or state.stage)


def _permit(state: Replayed, row: AnyRow) -> None:
    state.become(permit=stored.text(row.data, "power"))


def _power_on(state: Replayed, row: AnyRow) -> None:
    to = stored.text(row.data, "power")
    if not to or to != state.permit:
        state.faults.append(f"row {row.sequence} puts mains on without a permit for it.")
    if state.stage in CLOSED:
        state.faults.append(f"row {row.sequence} puts mains on after it was closed.")
    state.become(power=to or state.power)


def _power_off(state: Replayed, row: AnyRow) -> None:
    due = stored.text(row.data, "because") not in _BY_HAND
    state.become(power=Power.ISOLATED.value, permit="", unplug_due=due)


def _doubted(state: Replayed, row: AnyRow) -> None:
    state.become(unplug_due=True)


def _joined(state: Replayed, row: AnyRow) -> None:
    if stored.whole(row.data, "into") is not None:
        state.become(stage=Stage.WITHDRAWN.value, unplug_due=False)
    else:
        # Whether the plug of the other job was asked for stands in the ledger of that one.
        state.become(unplug_due=None)


def _cover_off(state: Replayed, row: AnyRow) -> None:
    state.become(cover=Cover.OFF.value)


def _cover_on(state: Replayed, row: AnyRow) -> None:
    state.become(cover=Cover.ON.value)


_PLAYED: dict[str, Callable[[Replayed, AnyRow], None]] = {
    StageChanged.event_type: _stage,
    PermitGranted.event_type: _permit,
    PowerApplied.event_type: _power_on,
    PowerRemoved.event_type: _power_off,
    PlugDoubted.event_type: _doubted,
    JobsJoined.event_type: _joined,
    CoverRemoved.event_type: _cover_off,
    CoverFitted.event_type: _cover_on,
}
