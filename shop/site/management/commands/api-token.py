"""`manage.py api-token USER`: print a new token for the API."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import User
from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.api.models import ApiToken


class Command(BaseCommand):
    """Makes a token and prints it; it cannot be read again."""

    help = "Print a new API token for a person."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("user")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it."""
        user = User.objects.filter(username=options["user"]).first()
        if user is None:
            known = ", ".join(User.objects.order_by("username").values_list("username", flat=True))
            raise CommandError(
                f"There is no {options['user']!r}; known are: {known}.", returncode=2
            )
        self.stdout.write(ApiToken.make(user))
