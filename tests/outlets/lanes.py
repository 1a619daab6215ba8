"""One lane of the drop-out test at work: made ready, a fault put in, what came of it."""

from __future__ import annotations

import json
import random
import time
from pathlib import Path

from django.utils import timezone

from shop.outlets import claims
from shop.outlets.standing import Standing
from tests.outlets import kinds, rig, shop

READY_SECONDS = 20
MOST_EARLY = 3


class Moment(float):
    """When a change was begun; `stored` is when it was. Until then an enable is right."""

    stored = 0.0


class Run:
    """One lane at work: what it is entitled to, and what was found."""

    def __init__(self, lane, outlet, job, other_job, database):
        self.lane, self.outlet, self.job, self.other_job = lane, outlet, job, other_job
        self.database = database
        self.entitled = [[time.monotonic(), float("inf")]]
        self.wrong = []

    def entitled_ends(self, change):
        """Make a change after which no enable is due, and return its moment."""
        began = Moment(time.monotonic())
        change()
        began.stored = time.monotonic()
        self.entitled[-1][1] = min(self.entitled[-1][1], began.stored)
        return began

    def entitled_again(self):
        if self.entitled[-1][1] != float("inf"):
            self.entitled.append([time.monotonic(), float("inf")])

    def observe(self, seconds):
        self.lane.contactor.read(seconds)

    def must_doubt(self):
        code = self.lane.holder.wait()
        self.expect(code == rig.DOUBTED, f"the holder ended with {code}, not by a doubt")

    def expect(self, true, words):
        if not true:
            self.wrong.append(words)

    def without_permit(self, told):
        """What gave leave although nothing stood between the tick and its answer."""
        return [
            one
            for one in told
            if one["what"] == "leave"
            and not any(a <= one["at"] and b >= one["tick_at"] for a, b in self.entitled)
        ]


def make_ready(run):
    """Bring everything back, wait for the enable, and press the button, as hands do."""
    lane = run.lane
    for whose in ("shop", "outlet"):
        lane.network.mend(whose)
    if lane.broker and lane.broker.process.poll() is not None:
        lane.broker.start()
    kinds.cover(run.job, "on")
    run.entitled_again()
    shop.with_mains(run.job)
    claims.claim(run.outlet, run.job, by=shop.bench().by, at=timezone.now())
    until = time.monotonic() + READY_SECONDS
    while not _closed_by_hand(run):
        if time.monotonic() > until:
            raise TimeoutError(f"lane {lane.number}: no enable came back")


def _closed_by_hand(run):
    """Wait for the enable and press the button; False when there was none, or it went again at once."""
    contactor = run.lane.contactor
    # One that has a doubt may need a moment to end.
    run.lane.hold()
    if not contactor.enabled:
        contactor.wait_for("enabled", 0.5, _last(run.lane))
    contactor.order("press")
    contactor.read(0.1)
    return contactor.closed


def _last(lane):
    return max((one["at"] for one in lane.contactor.told if one["what"] == "dropped"), default=0.0)


def one_fault(run, fault):
    """Put in a fault, and return what came of it.

    An outlet that a busy machine let drop before the fault was put in has shown nothing: again.
    """
    contactor = run.lane.contactor
    contactor.told = contactor.told[-8:]
    run.wrong.clear()
    may_stay = fault in kinds.MAY_STAY
    early = 0
    while True:
        make_ready(run)
        ready_at = time.monotonic()
        began = fault(run)
        dropped = contactor.wait_for("dropped", 2.5 if may_stay else 4, after=began)
        run.observe(0.3)
        run.expect(not contactor.closed or (may_stay and not dropped), "closed after the fault")
        # The command takes the place of a holder, and the outlet drops in between.
        in_between = fault not in kinds.BY_NAME.values()
        early_drop = any(_is_early(one, ready_at, began) for one in contactor.told)
        if early == MOST_EARLY or not (in_between and early_drop):
            break
        early += 1
    run.expect(dropped or may_stay, "not dropped")
    return _found(run, fault, began, dropped) | {"early": early}


def _is_early(told, ready_at, began):
    return told["what"] == "dropped" and ready_at - 0.1 < told["at"] <= began


def _found(run, fault, began, dropped):
    told = run.lane.contactor.told
    alone = [one for one in told if one["what"] == "enabled" and one["closed"]]
    return {
        "fault": fault.__name__,
        "kind": run.lane.kind,
        # What is stored ends leave once it is stored, and not while it is being written.
        "drop": max(0.0, dropped["at"] - getattr(began, "stored", began)) if dropped else None,
        "late": dropped["at"] - dropped["due"] if dropped else 0.0,
        "why": dropped["why"] if dropped else "",
        "without_permit": len(run.without_permit(told)),
        "closed_alone": len(alone),
        "wrong": list(run.wrong),
    }


def blind():
    """Let the holders of this process read no permit: what looks for faults must find that."""
    Standing.against = lambda _: ""


def run_lane(number, folder, base, jobs, how):
    """Work through the faults of one lane; a line of JSON for each."""
    kind = "modbus" if number % 4 == 0 else "mqtt"
    mine = Path(folder) / f"lane{number}"
    mine.mkdir()
    database = mine / "benchtag.sqlite3"
    shop.copy(base, database)
    rig.use_database(database)
    lane = rig.Lane(number, mine, kind=kind, namespace=how.namespace)
    try:
        outlet = lane.set_up_outlet().pk
        claims.claim(outlet, jobs[0], by=shop.bench().by, at=timezone.now())
        run = Run(lane, outlet, *jobs, database)
        with (mine / "results.jsonl").open("w") as file:
            for fault in _dealt(kinds.OF_KIND[kind], number, how):
                file.write(json.dumps(one_fault(run, fault)) + "\n")
                file.flush()
    finally:
        lane.end()


def _dealt(faults, number, how):
    """Every fault as often as any other, in an order of this lane."""
    count = len(range(number - 1, how.faults, how.lanes))
    if how.only:
        return [kinds.BY_NAME[how.only]] * count
    dice = random.Random(f"{how.seed}-{number}")
    whole, rest = divmod(count, len(faults))
    dealt = [*faults] * whole + dice.sample(faults, rest)
    dice.shuffle(dealt)
    return dealt
