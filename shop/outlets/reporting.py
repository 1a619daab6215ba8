"""Writes down what outlets reported, and says of each figure whether it is known."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from datetime import datetime, timedelta

from django.db import DatabaseError, transaction
from django.utils import timezone

from shop.lib import waiting
from shop.outlets.doubts import elapsed
from shop.outlets.keeper import Latest
from shop.outlets.models import Outlet, Report

log = logging.getLogger(__name__)
EVERY_SECONDS = 2.0
MOST_WAIT_MILLISECONDS = 300


def write(latest: Mapping[int, Latest]) -> None:
    """Write down what was heard since the last time; what is not stored now is stored next time."""
    heard = {n: one for n, one in latest.items() if elapsed() - one.heard_at < EVERY_SECONDS}
    if not heard:
        return
    now = timezone.now()
    try:
        with waiting.at_most(MOST_WAIT_MILLISECONDS), transaction.atomic():
            for number, one in heard.items():
                _write(number, one, now)
    except DatabaseError as error:
        log.warning("Reports of outlets were not written: %s", error)


def _write(number: int, one: Latest, now: datetime) -> None:
    state = one.state
    if not Outlet.objects.filter(pk=number).exists():
        return
    Report.objects.update_or_create(
        outlet_id=number,
        defaults={
            "at": now - timedelta(seconds=elapsed() - one.heard_at),
            "watts": state.watts,
            "volts": state.volts,
            "amps": state.amps,
            "enabled": state.enabled,
            "closed": state.closed,
            "withheld": one.withheld[:300],
        },
    )
