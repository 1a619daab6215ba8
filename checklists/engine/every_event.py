"""Every event that a table of hazards can tell apart, to check the table by enumeration.

Sections are free text: beside those that the pack names there is no section, and one that nobody
thought of. Numbers stand for themselves at both ends of their range.
"""

from __future__ import annotations

from collections.abc import Iterator

from checklists.engine.happenings import Happening
from checklists.engine.history import FACT, FINDING, FITTED, WORK
from checklists.engine.pack import Pack
from checklists.engine.vocabulary import FINDINGS, VOCABULARY, Fact, Value
from checklists.engine.vocabulary import WORK as KINDS_OF_WORK
from checklists.engine.words import EVENTS, FULL, LIMITED

_TOLD_APART = frozenset({FACT, FINDING, FITTED, WORK, "power_applied", "stage_changed"})
# Those of sign-offs and corrections raise nothing by themselves.
_OF_OTHERS = frozenset({"step_signed", "step_waived", "entry_withdrawn"})
ELSEWHERE = "where nobody thought of"


def every_event(pack: Pack) -> Iterator[Happening]:
    """Yield one event for each that some trigger of the pack could tell from another."""
    for kind in EVENTS:
        if kind not in _TOLD_APART | _OF_OTHERS:
            yield Happening(kind=kind)
    for power in (LIMITED, FULL):
        yield Happening(kind="power_applied", power=power)
    for stage in VOCABULARY["job.stage"].words:
        yield Happening(kind="stage_changed", to=stage)
    for section in sections(pack):
        yield from _in_section(section)
    for fact in VOCABULARY.values():
        for value in () if fact.computed else _values(fact):
            yield Happening(kind=FACT, name=fact.name, value=value)


def sections(pack: Pack) -> list[str]:
    """Return the sections that make a difference: named ones, none, and any other."""
    ends = [end for step in pack.steps.values() for end in step.invalidated_by]
    ends += [end for hazard in pack.hazards for end in hazard.raised_by]
    named = {name for end in ends for name in end.section | end.except_section}
    return ["", ELSEWHERE, *sorted(named)]


def _in_section(section: str) -> Iterator[Happening]:
    for finding in FINDINGS:
        yield Happening(kind=FINDING, finding=finding, section=section)
    for outside in (False, True):
        yield Happening(kind=FITTED, section=section, from_outside=outside)
        for work in KINDS_OF_WORK:
            yield Happening(kind=WORK, work=work, section=section, from_outside=outside)


def _values(fact: Fact) -> list[Value]:
    if fact.kind == "bool":
        return [False, True]
    if fact.words:
        return [[word] if fact.kind == "list" else word for word in fact.words]
    return [int(fact.low), int(fact.high)] if fact.kind == "int" else [fact.low, fact.high]
