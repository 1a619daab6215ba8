"""Lets the worker keep the process that holds enables running, where a shop has outlets."""

from __future__ import annotations

import logging
import os
import subprocess
import sys
from datetime import datetime

from django.conf import settings

from shop.outlets import queries
from shop.site import places

log = logging.getLogger(__name__)
_running: list[subprocess.Popen[bytes]] = []


def keep(*, now: datetime) -> int:
    """Start it when there are outlets and it does not run; returns how many were started.

    It ends by itself on any doubt, and is started again by the next round. One that has nothing to
    keep any more is told to end.
    """
    while _running:
        if _running[0].poll() is None:
            if not queries.any_outlet():
                _running[0].terminate()
            return 0
        _running.pop()
    if not queries.any_outlet():
        return 0
    # It is of the worker's group, and ends with it, however the worker ends.
    command = [sys.executable, "-m", "shop.site", "outlets", "--parent", str(os.getpid())]
    _running.append(
        subprocess.Popen([*command, "--data", str(settings.DATA)], cwd=places.WORKING_FOLDER)
    )
    log.info("The outlets are kept")
    return 1
