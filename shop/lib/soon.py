"""Asks the worker for one of its tasks now rather than in its next round.

With a broker the task is sent to it. Without one nothing is sent: the worker looks for itself,
every half second. What there is to do is in the database, so a lost call delays and loses nothing.
"""

from __future__ import annotations

from collections.abc import Callable

from django.db import transaction

_senders: list[Callable[[str], object]] = []


def send_by(sender: Callable[[str], object]) -> None:
    """Let tasks be sent by this, from now on."""
    _senders[:] = [sender]


def do(task: str) -> None:
    """Ask for a task once the transaction stands."""
    for send in _senders:
        transaction.on_commit(lambda send=send: send(task), robust=True)  # type: ignore[misc]
