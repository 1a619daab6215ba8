"""Bills."""

from django.apps import AppConfig


class BillsConfig(AppConfig):
    """Settings of the app."""

    name = "shop.bills"
    label = "bills"

    def ready(self) -> None:
        """Guard its tables, and follow customers."""
        from shop.bills import bill_triggers, receivers  # noqa: F401, PLC0415 - connects them
        from shop.jobs import database_guards  # noqa: PLC0415

        database_guards.add(bill_triggers)
