"""A shop in memory: Django set up in this process with an empty, migrated database."""

from __future__ import annotations

import os


def set_up() -> None:
    """Set Django up by the settings of the tests and make the tables in memory, once."""
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    os.environ.pop("BENCHTAG_DATABASE_URL", None)
    import django  # noqa: PLC0415
    from django.conf import settings  # noqa: PLC0415

    settings.DATABASES["default"]["NAME"] = ":memory:"
    django.setup()
    from django.db import connection  # noqa: PLC0415

    from tests import migrated  # noqa: PLC0415

    migrated.migrate(connection)
    _steady_rules()


def _steady_rules() -> None:
    """One edition of the rules for the whole run: it is not looked up every two seconds."""
    from checklists import published  # noqa: PLC0415

    published.FRESH_SECONDS = 1e9
