"""Back-test of the finish ranges on a real service process with explicit waits.

Run by `make bench-forecast`. The record is that of the BPI Challenge 2013 (incidents), see the
NOTICE beside it; it is read, not shipped. Cases are parted by the time they began: the earlier
half is the history, the later half is forecast with the very functions of the shop, at the
moments when a case enters a stage and when it has been there for a day. Nothing is tuned on the
later half. A case counts as finished with its last event.
"""

from __future__ import annotations

import csv
import gzip
from collections import defaultdict
from datetime import datetime
from pathlib import Path

from shop.bench.statistics.forecast import Stay, range_of, remaining

RECORD = Path(__file__).resolve().parents[3] / "shared" / "data" / "eventlog-incidents-2013.csv.gz"
DAY = 86_400.0
AGES = (0.0, 1.0)


def cases() -> list[list[tuple[float, str]]]:
    """Each case as (day, stage) events in order; events that keep the stage are left out."""
    found: dict[str, list[tuple[float, str]]] = defaultdict(list)
    with gzip.open(RECORD, "rt", encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            moment = datetime.fromisoformat(row["timestamp"].replace("Z", "+00:00"))
            stage = f"{row['activity']}/{row['transition']}"
            found[row["case"]].append((moment.timestamp() / DAY, stage))
    ordered = [sorted(events) for events in found.values()]
    return sorted(ordered, key=lambda events: events[0][0])


def stays_of(events: list[tuple[float, str]]) -> list[tuple[str, Stay]]:
    end = events[-1][0]
    entered = [events[0]]
    for event in events[1:]:
        if event[1] != entered[-1][1]:
            entered.append(event)
    leaves = [moment for moment, _ in entered[1:]] + [end]
    return [
        (stage, Stay(left - moment, end - moment))
        for (moment, stage), left in zip(entered, leaves, strict=True)
    ]


def history_of(early: list[list[tuple[float, str]]], known_by: float) -> dict[str, list[Stay]]:
    history: dict[str, list[Stay]] = defaultdict(list)
    for events in early:
        if events[-1][0] < known_by:
            for stage, stay in stays_of(events):
                history[stage].append(stay)
    return history


def back_test(
    name: str, history: dict[str, list[Stay]], late: list[list[tuple[float, str]]]
) -> None:
    asked = said = in_half = in_most = 0
    for events in late:
        for stage, stay in stays_of(events):
            for age in AGES:
                if stay.days < age or stay.to_end == 0:
                    continue
                asked += 1
                draws = remaining(history[stage], age, seed=asked)
                if draws is None:
                    continue
                said += 1
                found, truth = range_of(draws, len(history[stage])), stay.to_end - age
                in_half += found.half[0] <= truth <= found.half[1]
                in_most += found.most[0] <= truth <= found.most[1]
    print(f"{name}: {asked:,} questions, {100 * said / asked:.1f} % answered with a range")
    print(f"  end inside the 50 % range     {100 * in_half / said:6.1f} %")
    print(f"  end inside the 85 % range     {100 * in_most / said:6.1f} %")


def main() -> None:
    if not RECORD.exists():
        print("The record is not here; nothing to test against.")
        return
    every = cases()
    half = len(every) // 2
    early, late = every[:half], every[half:]
    print(f"{len(every):,} cases, {len(early):,} earlier, {len(late):,} later")
    # The record was cut from a few weeks, so half of the cases begin within days of each other:
    # what had ended by then is mostly short, and what began late is cut short itself.
    back_test("earlier cases ended by then", history_of(early, late[0][0][0]), late)
    back_test("earlier cases to their end", history_of(early, float("inf")), late)


if __name__ == "__main__":
    main()
