"""The project as an app: it brings the commands, the static files and the deploy checks."""

from datetime import datetime

from django.apps import AppConfig
from django.conf import settings

from shop.reminders.further_tasks import FURTHER_TASKS


class ShopConfig(AppConfig):
    """Loads its checks."""

    name = "shop.site"
    label = "shop"

    def ready(self) -> None:
        # On import checks register, and Celery's app becomes the one that tasks belong to.
        from shop.site import checks  # noqa: F401, PLC0415

        if settings.REDIS_URL:
            from shop.site import celery  # noqa: F401, PLC0415 - an extra
        else:
            FURTHER_TASKS["nightly-backup"] = _start_backup
            FURTHER_TASKS["keep-outlets"] = _keep_outlets


def _start_backup(*, now: datetime) -> int:
    from shop.site import nightly_backup  # noqa: PLC0415 - it needs models, which come later

    return nightly_backup.start_when_due(now=now)


def _keep_outlets(*, now: datetime) -> int:
    from shop.site import outlet_process  # noqa: PLC0415 - it needs models, which come later

    return outlet_process.keep(now=now)
