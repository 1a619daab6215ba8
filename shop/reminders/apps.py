"""What is due, late or stalled, said on pages and by mail."""

from django.apps import AppConfig
from django.conf import settings
from django.utils.translation import gettext_lazy as _

from shop.lib import soon
from shop.lib.web.navigation import account_links, menu


class RemindersConfig(AppConfig):
    """Settings of the app."""

    name = "shop.reminders"
    # The label under which its tables were made; it names them, and stays.
    label = "watch"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job; with a broker, send it tasks that are wanted now."""
        menu.add(_("Reminders"), "reminders", order=130, more=True)
        account_links.add(
            _("Your e-mail address, and which e-mails you want"), "reminders", order=10
        )
        if settings.REDIS_URL:
            soon.send_by(_sent)


def _sent(task: str) -> None:
    from celery import current_app  # noqa: PLC0415 - an extra

    # By its name: the task needs the models, which are not there yet when this is read.
    current_app.send_task("shop.reminders.tasks.do", [task])
