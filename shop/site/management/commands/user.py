"""`manage.py user NAME ROLE`: create an account, or give it another role or password."""

from __future__ import annotations

import getpass
import secrets
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from shop.accounts import roles, second_factor


class Command(BaseCommand):
    """Creates or changes an account."""

    help = "Create a user with a role, owner, technician, desk or viewer; or change it."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("name")
        parser.add_argument("role", choices=roles.ROLES)
        parser.add_argument("--ask", action="store_true", help="ask for the password")
        parser.add_argument(
            "--forget-second-factor",
            action="store_true",
            help="take away codes and passkeys that are lost; the password is made anew",
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it."""
        password = getpass.getpass() if options["ask"] else secrets.token_urlsafe(9)
        user = roles.make_user(options["name"], options["role"], password)
        if options["forget_second_factor"]:
            removed = second_factor.remove_all(user)
            self.stdout.write(f"{removed} second factor{'' if removed == 1 else 's'} taken away.")
        self.stdout.write(f"{options['name']} is {options['role']}.")
        if not options["ask"]:
            self.stdout.write(f"Password: {password}")
