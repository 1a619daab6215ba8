"""Deploy checks: settings that would be weak in services mode are refused."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core import checks

from shop.site import env


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
