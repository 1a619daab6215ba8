"""The checklists app."""

from django.apps import AppConfig


class ChecklistsConfig(AppConfig):
    """Loads its checks."""

    name = "checklists"

    def ready(self) -> None:
        from checklists import checks  # noqa: F401, PLC0415 - checks register on import
