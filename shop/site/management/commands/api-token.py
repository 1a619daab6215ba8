"""`manage.py api-token USER`: print a new token for the API; `--list` and `--revoke` see to those there are."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.models import User
from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.utils import timezone

from shop.api.models import MOST_DAYS, USUAL_DAYS, ApiToken


class Command(BaseCommand):
    """Makes a token and prints it; it cannot be read again."""

    help = "Print a new API token for a person."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("user")
        parser.add_argument("--name", default="", help="what it is for")
        parser.add_argument(
            "--scope", choices=[scope for scope, _ in ApiToken.SCOPES], default=ApiToken.WRITE
        )
        parser.add_argument("--days", type=int, default=USUAL_DAYS, help="until it ends")
        parser.add_argument("--list", action="store_true", help="list the person's tokens")
        parser.add_argument("--revoke", type=int, metavar="NUMBER", help="revoke one of them")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it."""
        user = User.objects.filter(username=options["user"]).first()
        if user is None:
            known = ", ".join(User.objects.order_by("username").values_list("username", flat=True))
            raise CommandError(
                f"There is no {options['user']!r}; known are: {known}.", returncode=2
            )
        if options["list"]:
            self._list(user)
        elif options["revoke"] is not None:
            self._revoke(user, options["revoke"])
        else:
            self._make(user, options)

    def _make(self, user: User, options: dict[str, Any]) -> None:
        if not 1 <= options["days"] <= MOST_DAYS:
            raise CommandError(
                f"--days is {options['days']}; write 1 to {MOST_DAYS}.", returncode=2
            )
        kept = {name: options[name] for name in ("name", "scope", "days")}
        self.stdout.write(ApiToken.make(user, **kept))

    def _list(self, user: User) -> None:
        now = timezone.now()
        for token in user.api_tokens.order_by("id"):
            state = f"until {token.expires_at:%Y-%m-%d}" if token.stands(now) else "opens nothing"
            self.stdout.write(f"{token.pk:6} {token.scope:6} {state:18} {token.name}")

    def _revoke(self, user: User, number: int) -> None:
        found = user.api_tokens.filter(pk=number, revoked_at=None)
        if not found.update(revoked_at=timezone.now()):
            raise CommandError(
                f"{user.username} has no token {number} that stands; see --list.", returncode=2
            )
        self.stdout.write(f"Token {number} opens nothing any more.")
