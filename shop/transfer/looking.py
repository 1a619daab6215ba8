"""Looks at the rows of a spreadsheet without writing: what each says, and what is here already."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime
from itertools import islice

from django.contrib.auth.models import User
from django.utils.translation import gettext as _

from shop.intake import many
from shop.jobs import commands
from shop.lib.refusals import BadInput, Refused
from shop.lib.text import quoted
from shop.transfer import spreadsheet

_AT_ONCE = 500

# What is going on, how many rows are done, and of how many.
Progress = Callable[[str, int, int], None]


def silent(what: str, done: int, rows: int) -> None:
    """Tell nobody how far it is."""


class Look:
    """Looks at every row without writing: what it says, and what it shares with others and the shop."""

    def __init__(self, by: User, at: datetime) -> None:
        self._by, self._at = by, at
        self._references: dict[str, int] = {}
        self._units: dict[str, int] = {}
        self._faults: list[tuple[int, str]] = []

    def errors_of(self, content: bytes, rows: int, progress: Progress) -> list[str]:
        """Return a sentence for each fault, in the order of the lines."""
        given, done = spreadsheet.lines(content), 0
        while some := list(islice(given, _AT_ONCE)):
            self._against_the_shop(list(self._good(some)))
            done += len(some)
            progress("looked at", done, rows)
        return [
            _("line {line}: {sentence}").format(line=line, sentence=sentence)
            for line, sentence in sorted(self._faults)
        ]

    def _good(self, rows: list[tuple[int, dict[str, str]]]) -> Iterator[many.Line]:
        for number, row in rows:
            try:
                line = many.line(number, by=self._by, at=self._at, **spreadsheet.arguments(row))
            except BadInput as error:
                self._faults += [(number, sentence) for _, sentence in error.problems]
            except Refused as error:
                self._faults.append((number, error.sentence))
            else:
                yield line

    def _against_the_shop(self, lines: list[many.Line]) -> None:
        taken = commands.jobs_by_reference(line.draft.reference for line in lines)
        here = commands.open_jobs_by_identity(line.draft.identity for line in lines)
        for line in lines:
            draft = line.draft
            fault = self._reference_fault(
                line.number, draft.reference, taken.get(draft.reference)
            ) or self._unit_fault(line.number, draft.identity, here.get(draft.identity))
            if fault:
                self._faults.append((line.number, fault))

    def _reference_fault(self, line: int, reference: str, job: int | None) -> str:
        before = self._references.setdefault(reference, line) if reference else line
        if job is not None:
            return _("reference {reference} is already job {job}.").format(
                reference=quoted(reference), job=job
            )
        return (
            ""
            if before == line
            else _("reference {reference} is on line {before} too.").format(
                reference=quoted(reference), before=before
            )
        )

    def _unit_fault(self, line: int, identity: str, jobs: list[int] | None) -> str:
        before = self._units.setdefault(identity, line) if identity else line
        if jobs:
            return commands.AlreadyHere(jobs).sentence
        return (
            ""
            if before == line
            else _("This unit is here already: line {before} has it.").format(before=before)
        )
