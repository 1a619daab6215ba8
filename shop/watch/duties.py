"""What the watch does, round after round: the same in the embedded worker and under Celery."""

from __future__ import annotations

from collections.abc import Callable

from shop.accounts import noting
from shop.post import sending, writing
from shop.search import indexing
from shop.watch import editions, letters, reminding, telling

DUTIES: dict[str, Callable[..., int]] = {
    "follow": editions.follow,
    "remind": reminding.remind,
    "digests": letters.write_digests,
    "deliver": letters.deliver,
    "messages": writing.write_due,
    "parts-late": telling.parts_late,
    "post": sending.deliver,
    "index": indexing.follow,
    "forget": noting.forget,
}
