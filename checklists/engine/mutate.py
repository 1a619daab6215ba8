"""Kills mutants of a pack: each line that is taken away must be missed by a history or a proof.

Taking a line away makes an induction easier, so the proof alone refutes few mutants. What tells
is a history that must be refused, and the purpose that every hold has to have. What nothing tells
has to be named beside the pack, with why it makes no difference: `hazards.equivalents.toml`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from checklists.engine import case_histories, reading_packs
from checklists.engine.case_histories import Case
from checklists.engine.happenings import HistoryError
from checklists.engine.honest import Honest
from checklists.engine.mutants import Mutant, mutants
from checklists.engine.pack import Pack, PackError
from checklists.engine.prove import Proof, Verdict
from checklists.engine.prove_purposes import purposes
from checklists.engine.strict_tables import Table, TableError, taken
from checklists.engine.ways_out import WaysOut

EQUIVALENTS = "hazards.equivalents.toml"
LOADER, CASE, PURPOSE, DEMANDING, EQUIVALENT, SURVIVED = (
    "loader",
    "case",
    "purpose",
    "ways-out",
    "equivalent",
    "survived",
)


@dataclass(frozen=True, slots=True)
class Fate:
    """What killed a mutant, by kind and name; or why it makes no difference; or that it survived."""

    mutant: str
    kind: str
    killer: str = ""


class Hunt:
    """Hunts the mutants of one pack with the histories beside it."""

    def __init__(self, folder: Path) -> None:
        """Read pack, histories and equivalents; PackError or HistoryError names a fault."""
        self.parts = reading_packs.parts(folder)
        self.hands = case_histories.hands_of(folder)
        self.equivalents = _equivalents(folder)
        self.mutants = list(mutants(self.parts))
        pack = self.parts.pack()
        proofs = [*purposes(pack, pack.steps), WaysOut(pack).demanding()]
        self._unproved = {p.id for p in proofs if p.verdict is not Verdict.PROVED}
        self._cases = [(c, _spoken_of(c, pack, self.hands)) for c in case_histories.read(folder)]

    def fates(self) -> Iterator[Fate]:
        """Yield what becomes of each mutant, in the order of the table."""
        yield from map(self.fate, self.mutants)

    def fate(self, mutant: Mutant) -> Fate:
        """Return what kills a mutant, or why it makes no difference."""
        try:
            pack = mutant.pack()
        except PackError as error:
            return Fate(mutant.name, LOADER, error.problems[0])
        for case in self._asked(mutant):
            if case_histories.judge(pack, case, self.hands):
                return Fate(mutant.name, CASE, case.name)
        for proof in self._proofs(pack, mutant):
            if proof.verdict is not Verdict.PROVED and proof.id not in self._unproved:
                return Fate(mutant.name, proof.id.split("/")[0], proof.why)
        why = self.equivalents.get(mutant.name)
        return Fate(mutant.name, EQUIVALENT, why) if why else Fate(mutant.name, SURVIVED)

    def _proofs(self, pack: Pack, mutant: Mutant) -> Iterator[Proof]:
        yield from purposes(pack, mutant.steps)
        yield WaysOut(pack).demanding()

    def strays(self) -> list[str]:
        """Return the names of equivalents that are no mutants."""
        return sorted(self.equivalents.keys() - {mutant.name for mutant in self.mutants})

    def _asked(self, mutant: Mutant) -> Iterable[Case]:
        """Return the cases that can tell: one that hangs on none of its steps cannot."""
        if mutant.stricter:
            return [case for case, _ in self._cases if case.allowed]
        return [case for case, spoken in self._cases if not mutant.steps.isdisjoint(spoken)]


def _spoken_of(case: Case, pack: Pack, hands: Honest) -> frozenset[str]:
    """Return the steps that the end of a case hangs on.

    HistoryError when it comes out otherwise: such a case would kill everything.
    """
    walked = case.walked(pack, hands)
    if faults := case_histories.judge_walked(case, walked):
        raise HistoryError(faults)
    last = walked[-1]
    asked = {r.hindrance.step.key for r in last.refused if r.hindrance}
    return frozenset(asked | ({last.event.step} if last.event.step else set()))


class _Equivalent(Table):
    mutants: list[str]
    why: str


def _equivalents(folder: Path) -> dict[str, str]:
    file = folder / EQUIVALENTS
    if not file.exists():
        return {}
    try:
        content = tomllib.loads(file.read_text(encoding="utf-8"))
        tables = [taken(_Equivalent, table) for table in content.get("equivalent", [])]
    except (tomllib.TOMLDecodeError, UnicodeDecodeError, TableError) as error:
        raise HistoryError([f"{file.name}: {error}"]) from None
    return {name: table.why for table in tables for name in table.mutants}
