"""`manage.py person NAME ROLE`: the former name of `user`; it still answers."""

from __future__ import annotations

from typing import Any

from shop.site.management.commands import user


class Command(user.Command):
    """Runs `user` and names it."""

    help = "Former name of `user`."

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it."""
        self.stderr.write("person is called user now: manage.py user NAME ROLE")
        super().handle(*args, **options)
