"""What every type of ledger event has; a module of this package says what is its own.

An instance is an event that is about to be written: its fields are the data of the row. What is
asked of stored rows are class methods on the data as it stands in the ledger: rows of old, or
of another edition, may hold less than the fields say now, or something else.
"""

from __future__ import annotations

from datetime import datetime
from enum import Enum, auto
from typing import Any, ClassVar, Protocol

from django.contrib.auth.models import User
from pydantic import BaseModel, ConfigDict, GetJsonSchemaHandler
from pydantic_core import CoreSchema

from checklists.engine import history
from checklists.engine.checklist import Checklist
from shop.jobs import guards
from shop.jobs.events import stored
from shop.jobs.events.forms import EventForm
from shop.jobs.ledger import AnyRow
from shop.jobs.models import Job
from shop.jobs.record import Record
from shop.lib.refusals import Refusal


class Follower(Enum):
    """A table that follows the ledgers, so that lists across jobs read one query."""

    STAGES = auto()
    PARTS = auto()
    CAUSES = auto()
    READINGS = auto()


class Transaction(Protocol):
    """What an event sees of the transaction that writes it: `commands/transaction.py`."""

    job: Job
    by: User | None
    at: datetime

    @property
    def record(self) -> Record:
        """The ledger as it stands, without this event."""

    @property
    def checklist(self) -> Checklist:
        """The checklist as it stands, without this event."""

    def changed(self, *columns: str) -> None:
        """Note columns of the job that the event has set."""


class Event(BaseModel):
    """One type of ledger event. Its fields, and what differs from these defaults, make the type."""

    model_config = ConfigDict(extra="forbid", validate_default=False)

    # The name under which rows are stored, and that packs, API and pages use. It never changes.
    event_type: ClassVar[str]
    # What the role of a person must allow; `shop.accounts.roles` lists the abilities.
    ability: ClassVar[str] = "record"
    # Whether people write it as a row of its own, on a page or by the API; else a command does.
    people_write_it: ClassVar[bool] = True
    on_closed_job: ClassVar[bool] = False
    # Fields that the shop fills in; whoever sends one is told that there is no such field.
    filled_in: ClassVar[frozenset[str]] = frozenset()
    # Whether it is work of hands at the bench: the job becomes that of whoever wrote it.
    by_hands: ClassVar[bool] = False
    followers: ClassVar[frozenset[Follower]] = frozenset()
    # Whether it stands among the notes of the printed traveller.
    on_paper: ClassVar[bool] = False
    # Whether its text is the customer's own: what search calls the complaint.
    customers_words: ClassVar[bool] = False
    form: ClassVar[type[EventForm] | None] = None
    # The act it is for safety, such as hands in the unit, cover off, mains on; empty: none.
    exposure: ClassVar[str] = ""

    def refusals(self, tx: Transaction) -> list[Refusal]:
        """Return every reason against writing it now."""
        if tx.job.closed and not self.on_closed_job:
            return [guards.only_notes() if self.people_write_it else guards.job_closed()]
        return self.check(tx)

    def check(self, tx: Transaction) -> list[Refusal]:
        """Return the reasons of its own against writing it now; BadInput for a field that cannot be."""
        return []

    def apply(self, tx: Transaction) -> None:
        """Change what follows it in the same transaction, and fill in what follows from the record."""

    def data(self) -> dict[str, Any]:
        """Return the data of its row; what was not given is left out."""
        given = self.model_dump(by_alias=True)
        return {name: value for name, value in given.items() if value is not None}

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Describe what people send: without the fields that the shop fills in."""
        described = handler.resolve_ref_schema(handler(core))
        for name in cls.filled_in:
            described["properties"].pop(name, None)
        return described

    @classmethod
    def reduce(cls, record: Record, row: AnyRow) -> None:
        """Let a row of the ledger change the record; rows come oldest first."""

    @classmethod
    def reduce_withdrawn(cls, record: Record, row: AnyRow) -> None:
        """Let a row that was withdrawn leave what no correction gives back; most leave nothing."""

    @classmethod
    def for_history(cls, row: AnyRow) -> history.Event:
        """Return what the validity of sign-offs needs of a row."""
        return cls.happened(row)

    @classmethod
    def happened(cls, row: AnyRow, **what: Any) -> history.Event:
        """Return the row as the history has it, with what else it tells."""
        return history.Event(
            sequence=row.sequence, event_type=row.event_type, at=row.at, by=row.by_name, **what
        )

    @classmethod
    def measured(cls, data: stored.Data) -> list[stored.Data]:
        """Return what a row measured: quantity, value, unit, and min, max, passed when judged."""
        return []

    @classmethod
    def words(cls, data: stored.Data) -> list[str]:
        """Return what a row says, as short parts."""
        return stored.words(data)

    @classmethod
    def line(cls, data: stored.Data, record: Record) -> str:
        """Return what a row says as one line of a document."""
        return "; ".join(cls.words(data))
