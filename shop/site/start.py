"""What must be so of the database before anything is served from it."""

from __future__ import annotations

import logging
import sys

from celery import signals
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor

from shop.backups import restoring
from shop.jobs import database_guards

log = logging.getLogger(__name__)
_THEN = (
    "Nothing is served from it. Look at the record with `manage.py ledger verify`;"
    " `manage.py ledger protect` puts the triggers in place once it holds."
)


def faults() -> list[str]:
    """Return a sentence for each reason not to serve; DatabaseError when nobody answers.

    A database that waits for `migrate` is not looked at: that puts the triggers in place.
    """
    if restoring.unfinished():
        return ["A restore into this database was not finished. Run `manage.py restore` again."]
    if "jobs_job" not in connection.introspection.table_names() or _waits_for_migrate():
        return []
    return guard_faults()


def guard_faults() -> list[str]:
    """Return a sentence for each trigger that is missing, hollow, or nobody's; one query."""
    strange = [
        f"The trigger {name} is of no release." for name in database_guards.strangers(connection)
    ]
    return database_guards.faults(connection) + strange


@signals.worker_init.connect
def require_sound(**_: object) -> None:
    """End this process with a sentence when the database does not guard itself."""
    try:
        found = faults()
    except DatabaseError as error:
        log.warning("The database could not be looked at: %s", error)
        return
    if found:
        print(" ".join([*found, _THEN]), file=sys.stderr, flush=True)  # noqa: T201 - before any log
        raise SystemExit(2)


def _waits_for_migrate() -> bool:
    executor = MigrationExecutor(connection)
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))
