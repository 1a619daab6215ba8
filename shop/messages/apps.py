"""Messages to customers."""

from django.apps import AppConfig

from shop.lib.web.navigation import job_tabs, menu


class MessagesConfig(AppConfig):
    """Settings of the app."""

    name = "shop.messages"
    # The label under which its tables were made; it names them, and stays.
    label = "post"

    def ready(self) -> None:
        """Offer its pages to the menu and to the job."""
        from shop.messages import receivers  # noqa: F401, PLC0415 - connects them

        menu.add("Messages", "outbox", order=120, ability="note", more=True)
        job_tabs.add("Customer", "customer-side", order=20, ability="note")
