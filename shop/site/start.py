"""What must be so of the database before anything is served from it."""

from __future__ import annotations

import logging
import sys

from django.apps import apps
from django.conf import settings
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader

from shop.backups import restoring
from shop.jobs import database_guards

log = logging.getLogger(__name__)
_OURS = ("shop.", "checklists")
_THEN = (
    f"Nothing is served from it. Look at the record with `{settings.COMMAND} ledger verify`;"
    f" `{settings.COMMAND} ledger protect` puts the triggers in place once it holds."
)


def faults() -> list[str]:
    """Return a sentence for each reason not to serve; DatabaseError when nobody answers.

    A database that waits for `migrate` is not looked at: that puts the triggers in place.
    """
    if restoring.unfinished():
        again = f"Run `{settings.COMMAND} restore` again."
        return [f"A restore into this database was not finished. {again}"]
    if "jobs_job" not in connection.introspection.table_names():
        return []
    executor = MigrationExecutor(connection)
    newer = _of_newer_releases(executor.loader)
    if newer:
        return [f"A newer release has migrated this database ({newer[-1]}). Install that release."]
    waits = executor.migration_plan(executor.loader.graph.leaf_nodes())
    return [] if waits else guard_faults()


def guard_faults() -> list[str]:
    """Return a sentence for each trigger that is missing, hollow, or nobody's; one query."""
    strange = [
        f"The trigger {name} is of no release." for name in database_guards.strangers(connection)
    ]
    return database_guards.faults(connection) + strange


def require_sound() -> None:
    """End this process with a sentence when the database does not guard itself."""
    try:
        found = faults()
    except DatabaseError as error:
        log.warning("The database could not be looked at: %s", error)
        return
    if found:
        print(" ".join([*found, _THEN]), file=sys.stderr, flush=True)  # noqa: T201 - before any log
        raise SystemExit(2)


def _of_newer_releases(loader: MigrationLoader) -> list[str]:
    """Return the migrations of our own apps that were applied and that this release does not have."""
    ours = {app.label for app in apps.get_app_configs() if app.name.startswith(_OURS)}
    known = {*loader.disk_migrations}
    for migration in loader.disk_migrations.values():
        known.update(migration.replaces)
    return sorted(
        f"{a}.{name}"
        for a, name in loader.applied_migrations
        if a in ours and (a, name) not in known
    )
