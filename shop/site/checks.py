"""Checks: weak settings of services mode, old names, and a database that guards itself."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.core import checks
from django.db import DEFAULT_DB_ALIAS

from shop.site import env, start


@checks.register(checks.Tags.security, deploy=True)
def services_are_complete(**_: Any) -> list[checks.CheckMessage]:
    """Refuse a services deployment without HTTPS, a broker, a database server or a given secret."""
    errors: list[checks.CheckMessage] = []
    if not settings.HTTPS:
        errors.append(checks.Error("Set BENCHTAG_HTTPS=yes behind TLS.", id="shop.E001"))
    if not settings.REDIS_URL:
        errors.append(checks.Error("Set BENCHTAG_REDIS_URL for the workers.", id="shop.E002"))
    if str(settings.DATABASES["default"]["ENGINE"]).endswith("sqlite3"):
        errors.append(
            checks.Error("Set BENCHTAG_DATABASE_URL to a PostgreSQL address.", id="shop.E003")
        )
    if settings.DEBUG:
        errors.append(checks.Error("Unset BENCHTAG_DEBUG.", id="shop.E004"))
    return errors


@checks.register
def names_are_new(**_: Any) -> list[checks.CheckMessage]:
    """Name the variables that are still set under the project's old name."""
    return [
        checks.Warning(
            f"{old} is read for now; its name is {old.replace(env.OLD_PREFIX, env.PREFIX)}.",
            hint="The project is called Benchtag; rename the variable.",
            id="shop.W001",
        )
        for old in env.old_names()
    ]


@checks.register
def names_are_known(**_: Any) -> list[checks.CheckMessage]:
    """Name the variables that are set and that nothing reads: a slip in a name sets nothing."""
    return [
        checks.Warning(
            f"{name} is set and nothing reads it.",
            hint=f"Is {near} meant?" if near != env.PREFIX else "docs/running.md lists them.",
            id="shop.W002",
        )
        for name, near in env.unknown_names().items()
    ]


@checks.register(checks.Tags.database)
def database_guards_itself(
    databases: Sequence[str] | None = None, **_: Any
) -> list[checks.CheckMessage]:
    """Name each trigger that the database has lost: without them it takes power without a permit."""
    if DEFAULT_DB_ALIAS not in (databases or ()):
        return []
    hint = "Look at the record with `ledger verify`; then `ledger protect` puts them in place."
    return [checks.Error(fault, hint=hint, id="shop.E005") for fault in start.faults()]
