"""The project as an app: it brings the commands, the static files and the deploy checks."""

from django.apps import AppConfig


class ShopConfig(AppConfig):
    """Loads its checks."""

    name = "shop"

    def ready(self) -> None:
        from shop import checks  # noqa: F401, PLC0415 - checks register on import
