"""Many seeds, in this process or in others beside it.

A process that starts anew imports a module by its name, and `__main__` of a package has none.
"""

from __future__ import annotations

import multiprocessing
from collections.abc import Iterator
from functools import partial
from typing import Any

from tests.twin import database


def walked(seeds: list[int], how: dict[str, Any], processes: int = 1) -> Iterator[tuple[int, Any]]:
    """Yield each seed with its tally as it gets done; with one process in a shop that is set up."""
    one = partial(walk_one, how)
    if processes == 1:
        yield from map(one, seeds)
        return
    # Started anew, not forked: each process has a shop of its own in memory.
    fresh = multiprocessing.get_context("spawn")
    with fresh.Pool(processes, initializer=database.set_up) as pool:
        yield from pool.imap_unordered(one, seeds)


def walk_one(how: dict[str, Any], seed: int) -> tuple[int, Any]:
    """Walk one seed: by the next act where `how` names units, else by any moves."""
    from tests.twin.following import followed  # noqa: PLC0415
    from tests.twin.walk import walk  # noqa: PLC0415

    return seed, (followed if "units" in how else walk)(seed, **how)
