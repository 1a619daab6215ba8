"""What is due, late or stalled, said on pages and by mail."""

from django.apps import AppConfig

from shop.lib.web.navigation import account_links, menu


class RemindersConfig(AppConfig):
    """Settings of the app."""

    name = "shop.reminders"
    # The label under which its tables were made; it names them, and stays.
    label = "watch"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        menu.add("Reminders", "reminders", order=130, more=True)
        account_links.add("Your e-mail address, and which e-mails you want", "reminders", order=10)
