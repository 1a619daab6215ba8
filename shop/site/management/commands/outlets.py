"""`manage.py outlets`: listens to the outlets of the bench, and holds their enables while permits stand."""

from __future__ import annotations

import os
import signal
import threading
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from shop.outlets.doubts import Doubt
from shop.outlets.holder import Holder
from shop.site import start

_LOOK_SECONDS = 0.5


class Command(BaseCommand):
    """Runs until told to stop, or until a doubt: then exit code 1, to be started again."""

    help = "Listen to outlets and meters, and hold the enable of each while its permit stands."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("--parent", type=int, help="end when this process is gone")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it."""
        start.require_sound()
        stop = threading.Event()
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, lambda *_: stop.set())
        if options["parent"]:
            follow = threading.Thread(target=_end_with, args=(options["parent"], stop), daemon=True)
            follow.start()
        try:
            Holder(stop).run()
        except Doubt as doubt:
            raise CommandError(f"Enables are withdrawn: {doubt}", returncode=1) from None


def _end_with(parent: int, stop: threading.Event) -> None:
    while not stop.wait(_LOOK_SECONDS):
        if os.getppid() != parent:
            stop.set()
