"""The process that keeps all outlets: it takes the lease, starts a keeper for each, and ends on any doubt.

Whoever started it may start it again. A new start takes nothing over but the lease; what it holds
is read anew.
"""

from __future__ import annotations

import logging
import secrets
import threading
import time
from collections.abc import Callable
from contextlib import suppress

from django.db import DatabaseError

from shop.outlets import passwords, reporting
from shop.outlets.doubts import Doubt, SameFile, SteadyClock
from shop.outlets.keeper import Grounds, Keeper
from shop.outlets.lease import Lease, Terms
from shop.outlets.links import Link
from shop.outlets.modbus import ModbusLink
from shop.outlets.models import MQTT, Outlet
from shop.outlets.mqtt import MqttLink

log = logging.getLogger(__name__)
ROUND_SECONDS = 0.25
LOOK_SECONDS = 2.0
JOIN_SECONDS = 1.5


class Holder:
    """Runs in the calling thread; `stop` may be set from anywhere."""

    def __init__(
        self,
        stop: threading.Event,
        *,
        terms: Terms | None = None,
        wall: Callable[[], float] = time.time,
    ) -> None:
        self._stop = stop
        self._token = secrets.token_hex(8)
        self._lease = Lease(self._token, terms)
        self._wall = wall
        self._keepers: dict[int, tuple[tuple[int, bool], Keeper]] = {}
        self._doubt: Doubt | None = None

    def run(self) -> None:
        """Keep the outlets until told to stop; Doubt when something is not as it must be."""
        if not self._taken():
            return
        grounds = Grounds(self._lease, SteadyClock(self._wall), SameFile())
        try:
            self._rounds(grounds)
        finally:
            self._end_all()
            with suppress(DatabaseError):
                self._lease.give_back()

    def _taken(self) -> bool:
        while not self._stop.is_set():
            if self._lease.try_take():
                return True
            self._stop.wait(ROUND_SECONDS)
        return False

    def _rounds(self, grounds: Grounds) -> None:
        look_at = report_at = 0.0
        while not self._stop.is_set():
            self._lease.keep()
            if self._doubt is not None:
                raise self._doubt
            now = time.monotonic()
            if now >= look_at:
                self._follow(grounds)
                look_at = now + LOOK_SECONDS
            if now >= report_at:
                reporting.write({n: keeper.latest for n, (_, keeper) in self._keepers.items()})
                report_at = now + reporting.EVERY_SECONDS
            self._stop.wait(ROUND_SECONDS)

    def _follow(self, grounds: Grounds) -> None:
        """Keep what is set up now: end keepers of what was changed, start those of what is new."""
        try:
            outlets = {outlet.pk: outlet for outlet in Outlet.objects.all()}
        except DatabaseError as error:
            raise Doubt(f"The database does not answer: {error}") from None
        for number, (made_of, keeper) in list(self._keepers.items()):
            if number not in outlets or made_of != _made_of(outlets[number]):
                keeper.stop()
                keeper.join(JOIN_SECONDS)
                del self._keepers[number]
        for number, outlet in outlets.items():
            if number not in self._keepers:
                self._keepers[number] = (_made_of(outlet), self._started(outlet, grounds))

    def _started(self, outlet: Outlet, grounds: Grounds) -> Keeper:
        keeper = Keeper(
            outlet.pk,
            lambda: _link(outlet, self._token),
            grounds,
            answers=outlet.is_enabled_by_permits,
            doubted=self._take_doubt,
        )
        keeper.start()
        return keeper

    def _take_doubt(self, doubt: Doubt) -> None:
        # The others withdraw theirs at once, and not only when the next round comes.
        self._doubt = self._doubt or doubt
        for _, keeper in list(self._keepers.values()):
            keeper.stop()

    def _end_all(self) -> None:
        for _, keeper in self._keepers.values():
            keeper.stop()
        for _, keeper in self._keepers.values():
            keeper.join(JOIN_SECONDS)


def _made_of(outlet: Outlet) -> tuple[int, bool]:
    return outlet.edition, outlet.is_enabled_by_permits


def _link(outlet: Outlet, token: str) -> Link:
    if outlet.kind == MQTT:
        return MqttLink(outlet, passwords.opened(outlet), token)
    return ModbusLink(outlet)
