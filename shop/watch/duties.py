"""What the watch does, round after round: the same in the embedded worker and under Celery."""

from __future__ import annotations

from collections.abc import Callable

from shop.watch import editions, letters, reminding

DUTIES: dict[str, Callable[..., int]] = {
    "follow": editions.follow,
    "remind": reminding.remind,
    "digests": letters.write_digests,
    "deliver": letters.deliver,
}
