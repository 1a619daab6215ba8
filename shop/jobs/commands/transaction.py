"""One transaction on a job: lock, read, write, and leave it so that power never outlives its permit."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from checklists import published
from checklists.engine.checklist import Checklist
from shop.jobs import events, guards, ledger, next_act, sheets
from shop.jobs.commands import projecting
from shop.jobs.events.base import Event
from shop.jobs.events.power_removed import PowerRemoved
from shop.jobs.models import Job, LedgerRow
from shop.jobs.record import Record
from shop.jobs.stages import STALL_TIMEOUT_HOURS, Stage
from shop.lib import languages
from shop.lib.clock import after_working_hours
from shop.lib.prepared import Prepared
from shop.lib.prepared_writes import field_of, insert
from shop.lib.refusals import Refusal, Refused

_LONGEST_TITLE = 200
KEPT_BY_EVERY_WRITE = (
    "kind",
    "technician",
    "promised_on",
    "ready_since",
    "customer_asked",
    "due_at",
    "waiting_on",
    "waiting_since",
    "next_step",
    "next_title",
    "holds_open",
    "pack_digest",
    "head",
    "unplug_due",
    "version",
)


class JobTransaction:
    """A locked job with its ledger. `checklist` and `record` follow what is written."""

    def __init__(
        self, job: Job, rows: list[ledger.AnyRow], *, by: User | None, at: datetime
    ) -> None:
        self.job = job
        self.by = by
        self.at = at
        self._rows = rows
        self._written: list[tuple[Event, LedgerRow]] = []
        self._as_read = dict(vars(job))
        self._changed: set[str] = set()
        self._record: Record | None = None
        self._checklist: Checklist | None = None

    @property
    def record(self) -> Record:
        """The ledger as it stands now, rows of this transaction included."""
        if self._record is None:
            self._record = events.reduce(self.job, tuple(self._rows), now=self.at)
        return self._record

    @property
    def checklist(self) -> Checklist:
        """The checklist as it stands now."""
        if self._checklist is None:
            self._checklist = sheets.checklist_for(self.record)
        return self._checklist

    def write(self, event: Event) -> LedgerRow:
        """Let an event take place: check it, change what follows it, append its row.

        The row is stored when the transaction ends. Refused with every reason against it.
        """
        check(event.refusals(self))
        with languages.of_shop():
            event.apply(self)
        row = ledger.next_row(
            self.job.number,
            self._rows[-1] if self._rows else None,
            event.event_type,
            event.data(),
            by=self.by,
            at=self.at,
        )
        self._rows.append(row)
        self._written.append((event, row))
        self.forget()
        return row

    def changed(self, *columns: str) -> None:
        """Note columns of the job that this transaction has set."""
        self._changed.update(columns)
        self.forget()

    def forget(self) -> None:
        """Drop what was derived before the last write."""
        self._record = self._checklist = None

    def leave(self) -> None:
        """Withdraw a permit that no longer stands, then store rows and job.

        A transaction that wrote nothing leaves no trace.
        """
        if not self._written and not self._changed:
            return
        self.settle()
        if self._written:
            with languages.of_shop():
                projecting.follow(self, self._written)
        for row in self.written_rows:
            insert(row)
        self.job.save(update_fields=self._columns_to_store())

    def _columns_to_store(self) -> list[str]:
        """Return the columns that are not as they were read: what is the same costs an index nothing.

        The row is locked, and stored only while it has the version that was read.
        """
        now, before = vars(self.job), self._as_read
        names = (*KEPT_BY_EVERY_WRITE, *sorted(self._changed))
        named = dict.fromkeys(field_of(Job, name).attname for name in names)
        return [column for column in named if now[column] != before.get(column, now)]

    def settle(self) -> None:
        """Withdraw a permit that no longer stands, and bring the job up to its ledger; stores nothing."""
        with languages.of_shop():
            self._withdraw_if_unmet()
            self._keep_summary()

    @property
    def written_rows(self) -> list[LedgerRow]:
        """The rows of this transaction."""
        return [row for _, row in self._written]

    def _withdraw_if_unmet(self) -> None:
        job = self.job
        if not job.energised:
            return
        unmet = guards.against_lasting(job, self.record, self.checklist)
        if unmet:
            self.take_mains_off(because=Refused(unmet).sentence)
            job.unplug_due = True

    def take_mains_off(self, *, because: str) -> None:
        """Write that mains is off, and why."""
        self.write(PowerRemoved(came_from=str(self.job.power), because=because))

    def _keep_summary(self) -> None:
        job, record, checklist = self.job, self.record, self.checklist
        act = next_act.act_for(job, record, checklist, self.at)
        job.next_step = act.key
        job.next_title = "" if job.closed else act.title[:_LONGEST_TITLE]
        job.holds_open = checklist.holds_open
        waits = sheets.waiting_on(job, record)
        if waits != job.waiting_on or job.waiting_since is None:
            job.waiting_on, job.waiting_since = waits, self.at
        job.kind = str(record.facts.get("unit.kind", ""))
        job.promised_on = record.promised_on
        job.customer_asked = record.asked
        job.ready_since = self._ready_since()
        if self.by and any(event.by_hands for event, _ in self._written):
            job.technician = self.by
        job.pack_digest = checklist.pack.digest
        job.head = len(self._rows)
        if self._written:
            patience = STALL_TIMEOUT_HOURS.get(Stage(job.stage))
            job.due_at = None if patience is None else after_working_hours(self.at, patience)

    def _ready_since(self) -> datetime | None:
        """Since when a unit on the shelf has all that it cannot do without."""
        on_shelf = self.job.stage == Stage.AWAITING_PARTS
        if not on_shelf or self.record.outstanding_required:
            return None
        return self.job.ready_since or self.at


_LOCKED = Prepared(lambda number: Job.objects.select_for_update().filter(pk=number), int)


@contextmanager
def job_transaction(
    number: int, *, by: User | None, at: datetime, mains_comes_on: bool = False
) -> Iterator[JobTransaction]:
    """Lock a job for one transaction; Job.DoesNotExist when there is none. Nothing is kept on an error.

    Where mains is on, or comes on, it follows the rules that are published at this moment.
    """
    with transaction.atomic():
        job = _LOCKED.first(number)
        if job is None:
            raise Job.DoesNotExist(f"There is no job {number}.")
        with _rules(job, mains_comes_on=mains_comes_on):
            tx = JobTransaction(job, [*ledger.read(job)], by=by, at=at)
            yield tx
            tx.leave()


def _rules(job: Job, *, mains_comes_on: bool) -> AbstractContextManager[None]:
    # Whoever publishes holds the edition and waits for jobs with mains: those must not wait for it.
    if job.energised:
        return published.as_of_now()
    return published.as_of_now(awaited=True) if mains_comes_on else nullcontext()


def check(refusals: list[Refusal]) -> None:
    """Raise Refused when there is any reason."""
    if refusals:
        raise Refused(refusals)
