"""Whether what a database holds can be trusted: every chain, and what rooms above know of theirs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from django.db import DEFAULT_DB_ALIAS, connections

from shop.jobs import queries

Proof = Callable[[str], Iterable[str]]
_OF_ROOMS: dict[str, Proof] = {}


def add(table: str, proof: Proof) -> None:
    """Let a room above prove its tables; `table` is one that a backup from before the room lacks.

    The proof takes the alias of a database of any release, and yields a sentence for each fault.
    """
    _OF_ROOMS[table] = proof


def faults(using: str = DEFAULT_DB_ALIAS) -> Iterator[str]:
    """Yield a sentence for each fault of ledgers, jobs and the tables of the rooms."""
    yield from queries.ledger_faults(using)
    tables = set(connections[using].introspection.table_names())
    for table, proof in _OF_ROOMS.items():
        if table in tables:
            yield from proof(using)
