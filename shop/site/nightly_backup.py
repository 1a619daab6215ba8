"""Lets the worker start the backup of the night as a process of its own, so that nothing waits for it."""

from __future__ import annotations

import logging
import subprocess
import sys
from datetime import datetime

from django.conf import settings

from shop.backups import queries
from shop.site import places

log = logging.getLogger(__name__)
_running: list[subprocess.Popen[bytes]] = []


def start_when_due(*, now: datetime) -> int:
    """Start a backup when one is due and none runs; returns how many were started."""
    while _running:
        if _running[0].poll() is None:
            return 0
        _running.pop()
    if not queries.is_due(now):
        return 0
    # It is of the worker's group, and ends with it.
    command = [sys.executable, "-m", "shop.site", "backup", "--nightly"]
    _running.append(
        subprocess.Popen([*command, "--data", str(settings.DATA)], cwd=places.WORKING_FOLDER)
    )
    log.info("The backup of the night begins")
    return 1
