"""Drop-out by faults: `python -m tests.outlets.faults --faults 1000 --lanes 8`.

Each lane is a shop with a holder, a real broker (or a Modbus server), a network that can be cut,
and a simulated contactor that has leave by its own clock. One fault after the other is put into
it. Counted: enables that rest on no permit, contactors that closed without their button, and how
long each drop took by the contactor's clock; beside it, how late the simulation itself was.
Ends with 1 when any enable had no permit, anything closed by itself, or a drop took two seconds.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
import tempfile
import time
import traceback
from collections import Counter, defaultdict
from pathlib import Path

import django
from django.conf import settings
from django.db import connection, connections

from tests.outlets import network

LIMIT_SECONDS = 2.0


def run(how):
    """Run all lanes side by side and return what came of each fault, and the lanes that failed."""
    with tempfile.TemporaryDirectory(prefix="benchtag-outlets-") as folder:
        return _run_in(folder, how)


def _run_in(folder, how):
    how.namespace = how.cut == "namespace" or (
        how.cut == "any" and network.namespaces_are_allowed()
    )
    base = Path(folder) / "base.sqlite3"
    jobs = _set_up(base)
    pids = {}
    for number in range(1, how.lanes + 1):
        pid = os.fork()
        if not pid:
            _as_lane(number, folder, base, jobs, how)
        pids[pid] = number
    failed = [pids[pid] for pid in pids if os.waitpid(pid, 0)[1]]
    results = [
        json.loads(line)
        for file in sorted(Path(folder).glob("lane*/results.jsonl"))
        for line in file.read_text().splitlines()
    ]
    return results, failed


def _set_up(base):
    """Set Django up on a new file, and return (job with a permit, another open job)."""
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    os.environ.pop("BENCHTAG_DATABASE_URL", None)
    settings.DATABASES["default"]["NAME"] = str(base)
    django.setup()
    from tests import migrated  # noqa: PLC0415 - once Django is there
    from tests.outlets import shop  # noqa: PLC0415 - once Django is there

    migrated.migrate(connection)

    jobs = shop.jobs_with_mains()
    connections.close_all()
    return jobs


def _as_lane(number, folder, base, jobs, how):
    from tests.outlets.lanes import blind, run_lane  # noqa: PLC0415 - once Django is there

    if how.blind:
        blind()
    try:
        run_lane(number, folder, base, jobs, how)
        os._exit(0)
    except BaseException:
        traceback.print_exc()
        os._exit(1)


def told(results, how):
    """Return the table, a line for each fault."""
    by_name = defaultdict(list)
    for one in results:
        by_name[one["fault"]].append(one)
    cut = "a network namespace" if how.namespace else "a relay that stops passing on"
    lines = [f"networks cut by {cut}", f"{'fault':40} times  worst  median  without  alone"]
    for name, ones in sorted(by_name.items()):
        drops = sorted(one["drop"] for one in ones if one["drop"] is not None)
        worst, median = (drops[-1], drops[len(drops) // 2]) if drops else (0, 0)
        lines.append(
            f"{name:40} {len(ones):5} {worst:6.3f} {median:7.3f} "
            f"{sum(one['without_permit'] for one in ones):8} {sum(one['closed_alone'] for one in ones):6}"
        )
    late = max((one["late"] for one in results), default=0.0)
    lines.append(f"the simulation itself was late by at most {late:.3f} s")
    early = sum(one["early"] for one in results)
    lines.append(
        f"{early} times an outlet had dropped before its fault, on a busy machine: put in again"
    )
    return "\n".join(lines)


def bad(results):
    """Return a sentence for each thing that must not be."""
    found = Counter()
    for one in results:
        name = f"{one['fault']} ({one['kind']})"
        if one["drop"] is not None and one["drop"] >= LIMIT_SECONDS:
            found[f"{name}: dropped after {one['drop']:.2f} s"] += 1
        for words in one["wrong"]:
            found[f"{name}: {words}"] += 1
        found[f"{name}: enable without a permit"] += one["without_permit"]
        found[f"{name}: closed by itself"] += one["closed_alone"]
    return [f"{words}, {times} times" for words, times in found.items() if times]


def main():
    parser = argparse.ArgumentParser(prog="python -m tests.outlets.faults", description=__doc__)
    parser.add_argument("--faults", type=int, default=1000)
    parser.add_argument("--lanes", type=int, default=8)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--cut", choices=("any", "namespace", "relay"), default="any")
    parser.add_argument("--only", default="", help="one fault alone: command_killed")
    parser.add_argument("--blind", action="store_true", help="a holder that reads no permit")
    how = parser.parse_args()
    began = time.monotonic()
    results, failed = run(how)
    print(told(results, how))
    wrong = bad(results)
    drops = [one["drop"] for one in results if one["drop"] is not None]
    print(
        f"{len(results)} faults, {len(drops)} drops, worst {max(drops, default=0):.3f} s, "
        f"{sum(one['without_permit'] for one in results)} enables without a permit; "
        f"took {time.monotonic() - began:.0f} s"
    )
    print("\n".join([*wrong, *(f"lane {number} failed" for number in failed)]))
    return 1 if wrong or failed or len(results) < how.faults else 0


if __name__ == "__main__":
    sys.exit(main())
