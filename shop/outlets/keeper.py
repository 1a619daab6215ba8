"""One outlet, kept by one thread: its states are heard, and each tick is answered while a permit stands."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable
from dataclasses import dataclass, field

from django.db import DatabaseError, connection

from shop.outlets.doubts import Doubt, SameFile, SteadyClock, elapsed
from shop.outlets.lease import Lease
from shop.outlets.links import Heard, Link, NotInstalled
from shop.outlets.messages import ANSWER_SECONDS, State
from shop.outlets.standing import Standing

log = logging.getLogger(__name__)
LISTEN_SECONDS = 0.5


@dataclass(slots=True)
class Latest:
    """What an outlet said last and what came of it, for whoever writes it down."""

    state: State = field(default_factory=State)
    heard_at: float = 0.0
    withheld: str = ""


@dataclass(frozen=True, slots=True)
class Grounds:
    """What every enable rests on besides the permit."""

    lease: Lease
    clock: SteadyClock
    file: SameFile

    def check(self) -> None:
        """Raise Doubt unless the clock is steady, the database is the same, and the lease is ours."""
        self.clock.check()
        self.file.check()
        self.lease.check()


class Keeper(threading.Thread):
    """Listens and answers until told to stop, or until a doubt: then `doubted` is told, and it ends."""

    def __init__(
        self,
        outlet: int,
        link: Callable[[], Link],
        grounds: Grounds,
        *,
        answers: bool,
        doubted: Callable[[Doubt], None],
    ) -> None:
        super().__init__(name=f"outlet {outlet}", daemon=True)
        self.outlet = outlet
        self.latest = Latest()
        self._open, self._grounds, self._doubted = link, grounds, doubted
        self._answers = answers
        self._stop_asked = threading.Event()

    def stop(self) -> None:
        """Ask it to withdraw its enable and end."""
        self._stop_asked.set()

    def run(self) -> None:
        """Keep the outlet."""
        try:
            link = self._open()
            try:
                self._keep(link)
            finally:
                link.close()
        except NotInstalled as error:
            # The outlets of another kind are kept.
            log.error("Outlet %s: %s", self.outlet, error)
        except Doubt as doubt:
            self._doubted(doubt)
        except Exception as error:
            log.exception("Outlet %s", self.outlet)
            self._doubted(Doubt(f"{type(error).__name__}: {error}"))
        finally:
            connection.close()

    def _keep(self, link: Link) -> None:
        standing = Standing(self.outlet)
        while not self._stop_asked.is_set():
            heard = link.listen(LISTEN_SECONDS)
            if heard is None:
                continue
            withheld = self._answered(link, standing, heard) if self._answers else ""
            self.latest = Latest(heard.state, heard.at, withheld)

    def _answered(self, link: Link, standing: Standing, heard: Heard) -> str:
        """Answer a tick, and return why it was not an enable; empty where it was.

        The permit is read after the tick was heard: an enable never rests on what was read before.
        """
        if heard.state.tick is None:
            return "It sends no tick to answer."
        withheld = self._against(standing)
        if not withheld and elapsed() - heard.at > ANSWER_SECONDS:
            withheld = "The answer took too long."
        link.answer(heard.state.tick, enable=not withheld)
        return withheld

    def _against(self, standing: Standing) -> str:
        try:
            self._grounds.check()
            return standing.against()
        except DatabaseError as error:
            raise Doubt(f"The database does not answer: {error}") from None
