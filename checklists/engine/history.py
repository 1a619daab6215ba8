"""What has happened to a job, reduced to what the standing of sign-offs needs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

SIGNED = "step_signed"
WAIVED = "step_waived"
_TOUCHING = frozenset({"cover_removed", "work_done", "part_fitted"})


@dataclass(frozen=True, slots=True)
class Happening:
    """One row of a job's record.

    `step`, `result`, `substance` belong to sign-offs and waivers ("pass", "fail",
    "not-applicable", "waived"); `work` and `section` to work done, `finding` and `section` to a finding;
    `by` is who recorded it.
    """

    sequence: int
    kind: str
    by: str = ""
    work: str = ""
    finding: str = ""
    section: str = ""
    step: str = ""
    result: str = ""
    substance: str = ""


@dataclass(frozen=True, slots=True)
class Ender:
    """An event that ends the standing of a sign-off, narrowed by work, finding or section."""

    event: str
    work: frozenset[str] = frozenset()
    finding: frozenset[str] = frozenset()
    section: frozenset[str] = frozenset()
    # Sections where it does no harm. Sections are free text, so naming the harmless ones is the
    # way that fails closed: a spelling nobody thought of still ends the sign-off.
    except_section: frozenset[str] = frozenset()

    def ends(self, happening: Happening) -> bool:
        """Tell whether this happening ends a sign-off that came before it.

        Work whose section was left empty could be anywhere, so it ends the sign-off.
        """
        if happening.kind != self.event:
            return False
        if self.work and happening.work not in self.work:
            return False
        if self.finding and happening.finding not in self.finding:
            return False
        if happening.section and happening.section in self.except_section:
            return False
        return not self.section or not happening.section or happening.section in self.section

    def sentence(self) -> str:
        """Say it in words: 'work_done (relay-replaced, relay-cleaned)'."""
        narrowed = [
            *sorted(self.work | self.finding),
            *(f"section {s}" for s in sorted(self.section)),
        ]
        return f"{self.event} ({', '.join(narrowed)})" if narrowed else self.event


@dataclass(frozen=True, slots=True)
class History:
    """All happenings of a job in order, sorted once into what `derive` asks for."""

    happenings: tuple[Happening, ...] = ()
    signoffs: dict[str, list[Happening]] = field(default_factory=dict)
    others: tuple[Happening, ...] = ()

    @classmethod
    def of(cls, happenings: Iterable[Happening]) -> History:
        """Build from rows in ascending sequence."""
        rows = tuple(happenings)
        signoffs: dict[str, list[Happening]] = {}
        for row in rows:
            if row.kind in (SIGNED, WAIVED):
                signoffs.setdefault(row.step, []).append(row)
        others = tuple(row for row in rows if row.kind not in (SIGNED, WAIVED))
        return cls(rows, signoffs, others)

    @property
    def touched(self) -> bool:
        """Whether the unit has been opened or worked on in this job."""
        return any(row.kind in _TOUCHING for row in self.others)

    def ended_after(self, sequence: int, enders: tuple[Ender, ...]) -> Happening | None:
        """Return the first happening after `sequence` that one of the enders names."""
        for row in self.others:
            if row.sequence > sequence and any(ender.ends(row) for ender in enders):
                return row
        return None


NOTHING_YET = History()
