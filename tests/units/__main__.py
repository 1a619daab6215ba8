"""Walk the units of the bench through a shop in memory: `python -m tests.units`.

Prints for each one whether it passed or where it was stopped, and the acts to its release.
`--tell NAME` walks one aloud, `--little` tells the shop only what is seen at the counter.
Ends with 1 when one of them did not go as it must.
"""

from __future__ import annotations

import argparse
import statistics
import sys
from typing import Any

from tests.twin import database


def main() -> int:
    given = _arguments()
    database.set_up()
    from tests.units.walking import shipped  # noqa: PLC0415

    units = shipped()
    chosen = [u for u in (*units.healthy, *units.sick) if given.tell in (None, u.name)]
    outcomes = [_one(unit, given) for unit in chosen]
    acts = [count for _, count in outcomes if count]
    if acts:
        print(f"acts to release: median {statistics.median(acts):g}, most {max(acts)}")
    well = sum(good for good, _ in outcomes)
    print(f"{well} of {len(outcomes)} as they must")
    return 0 if well == len(outcomes) else 1


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.units", description=__doc__)
    parser.add_argument("--tell", metavar="NAME", help="walk this one aloud")
    parser.add_argument("--little", action="store_true", help="tell only what the counter sees")
    return parser.parse_args()


def _one(unit: Any, given: argparse.Namespace) -> tuple[bool, int]:
    """Walk one unit, print what came of it, and return whether it must be so, with its acts."""
    from tests.units.technician import Technician  # noqa: PLC0415
    from tests.units.walking import faults_of, walked  # noqa: PLC0415

    try:
        technician: Technician = walked(unit, tells_all=not given.little)
    except AssertionError as error:
        _print(unit, "NO", str(error) if given.tell else str(error).splitlines()[0])
        return False, 0
    if given.tell:
        print("\n".join(technician.acts))
    wrong = faults_of(technician)
    stopped = f"stopped by {technician.stops[0].step}, " if technician.stops else ""
    said = "; ".join(wrong) or f"{stopped}released after {len(technician.acts)} acts"
    _print(unit, "NO" if wrong else "yes", said)
    return not wrong, len(technician.acts)


def _print(unit: Any, good: str, said: str) -> None:
    print(f"{good:4}{'sick' if unit.sick else 'well':5} {unit.name}: {said}", flush=True)


if __name__ == "__main__":
    sys.exit(main())
