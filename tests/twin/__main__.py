"""Random but honest hands on a shop in memory: `python -m tests.twin --seeds 0-200 --moves 400`.

Prints what was accepted, what of it would have hurt, and which harmless moves were refused.
`--follow --units 3`: hands that only do the next act, so many units of each seed to their ends;
with `--wander 40` they do any moves before.
With `--out` each seed is kept as a line of JSON, and seeds on record are not walked again.
Ends with 1 when anything would have hurt, or a unit got stuck.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from tests.twin import database, seeds


def main() -> int:
    given = _arguments()
    if given.tell is not None:
        return _tell(given)
    folder = Path(given.out or tempfile.mkdtemp(prefix="benchtag-twin-"))
    folder.mkdir(parents=True, exist_ok=True)
    started, total = time.perf_counter(), _run(given, folder)
    print(total.table())
    print(f"took {time.perf_counter() - started:.0f} s; lines in {folder}")
    for story in total.stories[: given.stories]:
        print("", f"seed {story['seed']}, move {story['move']}: {story['harms']}", sep="\n")
        print("\n".join(story["moves"]))
    return 1 if total.bad else 0


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.twin", description=__doc__)
    parser.add_argument("--seeds", default="0-20", help="from-to, the last one not walked")
    parser.add_argument("--moves", type=int, default=400, help="moves tried in each walk")
    parser.add_argument("--out", help="folder of the lines; a folder of its own when left out")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--follow", action="store_true", help="hands that only do the next act")
    parser.add_argument("--units", type=int, default=3, help="with --follow: units of each seed")
    parser.add_argument("--wander", type=int, default=0, help="with --follow: any moves before")
    parser.add_argument("--stop-at-first", action="store_true", help="stop at the first harm")
    parser.add_argument("--stories", type=int, default=2, help="how many harms are told")
    parser.add_argument("--tell", type=int, help="walk this one seed aloud")
    return parser.parse_args()


def _tell(given: argparse.Namespace) -> int:
    database.set_up()
    _, tally = seeds.walk_one(_how(given) | {"tell": print}, given.tell)
    return 1 if tally.bad else 0


def _how(given: argparse.Namespace) -> dict[str, Any]:
    follow = {"units": given.units, "wander": given.wander}
    return follow if given.follow else {"moves": given.moves}


def _run(given: argparse.Namespace, folder: Path) -> Any:
    """Walk what is not on record and return the sum of all seeds asked for."""
    first, last = map(int, given.seeds.split("-"))
    database.set_up()
    from tests.twin import results  # noqa: PLC0415
    from tests.twin.following import Ends  # noqa: PLC0415
    from tests.twin.walk import Tally  # noqa: PLC0415

    total: Any = Ends() if given.follow else Tally()
    kept = results.done(folder, type(total))
    for seed in set(kept) & set(range(first, last)):
        total.add(kept[seed])
    to_walk = [seed for seed in range(first, last) if seed not in kept]
    for seed, tally in seeds.walked(to_walk, _how(given), given.processes):
        results.keep(folder, seed, tally)
        total.add(tally)
        _show(seed, total)
        if given.stop_at_first and tally.bad:
            break
    return total


def _show(seed: int, total: Any) -> None:
    print(f"seed {seed}: {total}", file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main())
