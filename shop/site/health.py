"""Health: is the process up, and can it serve."""

from __future__ import annotations

import shutil
from pathlib import Path

from django.db import DatabaseError, connection, transaction
from django.http import HttpRequest, JsonResponse
from django.utils import timezone

from checklists import published
from checklists.engine.pack import PackError
from shop.backups import queries as backups
from shop.lib import waiting
from shop.lib.web import busy_database
from shop.site import start

_MOST_WAIT_MILLISECONDS = 1000
# What a shop needs to go on for a while: the log of writes grows to some megabytes between tidyings.
LEAST_FREE_BYTES = 32 * 1024 * 1024


def live(request: HttpRequest) -> JsonResponse:
    """Answer as long as the process runs."""
    return JsonResponse({"live": True})


def ready(request: HttpRequest) -> JsonResponse:
    """Answer 200 when the database takes writes and guards itself and the rules can be read, else 503.

    With 200 goes how old the newest sound backup is.
    """
    try:
        with waiting.at_most(_MOST_WAIT_MILLISECONDS):
            _would_write()
            lost = start.guard_faults()
            published.current()
            backup = backups.state(timezone.now()).as_json(timezone.now())
    except DatabaseError as error:
        return _unready(_reason(error))
    except PackError:
        return _unready("The rules cannot be read.")
    if lost:
        return _unready(" ".join(lost))
    if _is_full():
        return _unready(busy_database.NO_ROOM)
    # An old backup is told, and takes nobody off the bench.
    return JsonResponse({"ready": True, "backup": backup})


def _unready(reason: str) -> JsonResponse:
    answer = JsonResponse({"ready": False, "reason": reason}, status=503)
    answer["Retry-After"] = str(busy_database.RETRY_AFTER_SECONDS)
    return answer


def _reason(error: DatabaseError) -> str:
    why = busy_database.why(error)
    locked = "lock" in str(error).lower()
    return why if locked or why == busy_database.NO_ROOM else "The database does not answer."


def _would_write() -> None:
    """Take what a write takes, and let go; DatabaseError when it is not to be had."""
    with transaction.atomic(), connection.cursor() as cursor:
        if connection.vendor != "sqlite":
            # On SQLite the transaction itself has taken the only lock there is.
            cursor.execute("LOCK TABLE jobs_job, jobs_ledgerrow IN ROW EXCLUSIVE MODE")
        cursor.execute("SELECT 1 FROM jobs_job LIMIT 1")


def _is_full() -> bool:
    """Whether there is no room for writes: seen on the disk, or by a write a moment ago."""
    if busy_database.was_full():
        return True
    if connection.vendor != "sqlite":
        return False  # on a disk of its own; what it answers to a write says it
    folder = Path(str(connection.settings_dict["NAME"])).parent
    return shutil.disk_usage(folder).free < LEAST_FREE_BYTES
