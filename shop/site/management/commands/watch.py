"""`manage.py watch`: the worker without a broker."""

from __future__ import annotations

import signal
import threading
from typing import Any

from django.core.management.base import BaseCommand, CommandParser

from shop.reminders import worker
from shop.site import start


class Command(BaseCommand):
    """Keeps the schedule until told to stop."""

    help = "Run the watch in this process, without a broker."

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("--once", action="store_true", help="one round, then end")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it."""
        start.require_sound()
        if options["once"]:
            worker.run_once()
            return
        stop = threading.Event()
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, lambda *_: stop.set())
        worker.keep(stop)
