"""The project as an app: it brings the commands, the static files and the deploy checks."""

from django.apps import AppConfig


class ShopConfig(AppConfig):
    """Loads its checks."""

    name = "shop.site"
    label = "shop"

    def ready(self) -> None:
        # On import checks register, and Celery's app becomes the one that tasks belong to.
        from shop.site import celery, checks  # noqa: F401, PLC0415
