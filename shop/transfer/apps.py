"""Export and import."""

from datetime import datetime

from django.apps import AppConfig
from django.utils.translation import pgettext_lazy

from shop.lib.web.navigation import menu
from shop.reminders.further_tasks import FURTHER_TASKS


class TransferConfig(AppConfig):
    """Settings of the app."""

    name = "shop.transfer"
    label = "transfer"

    def ready(self) -> None:
        """Offer its page to the menu, and to the worker what is left of imports."""
        FURTHER_TASKS["finish-imports"] = _finish_imports
        menu.add(pgettext_lazy("menu", "Import"), "import", order=149, ability="import", more=True)
        menu.add(pgettext_lazy("menu", "Export"), "export", order=150, ability="persons", more=True)


def _finish_imports(*, now: datetime) -> int:
    from shop.transfer import job_import, mapping  # noqa: PLC0415 - nothing that starts waits for it

    mapping.forget(now=now)
    return job_import.finish_stalled(now=now)
