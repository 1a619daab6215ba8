"""What the watch does, round after round: the same in the embedded worker and under Celery."""

from __future__ import annotations

from collections.abc import Callable

from shop.accounts import sign_in_log
from shop.messages import composing, sending
from shop.reminders import customer_notices, emails, rule_updates, services
from shop.search import indexing

DUTIES: dict[str, Callable[..., int]] = {
    "follow": rule_updates.follow,
    "remind": services.remind,
    "digests": emails.write_digests,
    "deliver": emails.deliver,
    "messages": composing.write_due,
    "parts-late": customer_notices.parts_late,
    "post": sending.deliver,
    "index": indexing.follow,
    "forget": sign_in_log.forget,
}
