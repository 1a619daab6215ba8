"""Proves that no unit is stuck: from every state, honest hands bring it to release and to hand-back.

One unit is enough. On the most demanding one nothing is known, every finding was made, every work
was done and nothing is signed. What any other unit asks for is part of what this one asks for, and
what stands there only helps: neither a list nor a guard grows with a signature, and mains can
always be taken off. So acts that bring this unit out, from an open and from a closed start, bring
out every other. `demanding` checks that it is the most demanding one; `way` searches for the acts.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import timedelta

from checklists.engine.happenings import STARTS_AT, Happening
from checklists.engine.history import FACT, FINDING, WORK
from checklists.engine.pack import Pack
from checklists.engine.prove import Proof, Verdict
from checklists.engine.replay import Walk, in_words
from checklists.engine.vocabulary import FINDINGS, VOCABULARY
from checklists.engine.vocabulary import WORK as KINDS_OF_WORK
from checklists.engine.words import FULL, LIMITED

RELEASED, HANDED_BACK = "released", "withdrawn"
_LONGEST_SOAK = timedelta(hours=300)
_ACTS: tuple[tuple[Happening, ...], ...] = (
    (Happening(kind="power_removed"),),
    (Happening(kind="cover_removed"),),
    (Happening(kind="cover_fitted"),),
    (Happening(kind="power_applied", power=LIMITED),),
    (Happening(kind="power_applied", power=FULL), Happening(kind="trial_run")),
    (
        Happening(kind="soak_started", at=STARTS_AT),
        Happening(kind="soak_ended", result="pass", at=STARTS_AT + _LONGEST_SOAK),
    ),
)
_SIGN = Happening(kind="sign_all")
_MOST_STATES = 400


@dataclass(frozen=True, slots=True)
class _Place:
    """A unit on its way, and the events that led there."""

    walk: Walk
    acts: tuple[Happening, ...]

    @property
    def key(self) -> tuple[object, ...]:
        """What of it matters for the way on."""
        unit = self.walk.unit
        standing = frozenset(step.key for step in unit.checklist.steps if step.stands)
        return unit.state, unit.soak.state, standing


class WaysOut:
    """Searches for ways out under one pack."""

    def __init__(self, pack: Pack) -> None:
        self.pack = pack

    def check(self) -> Iterator[Proof]:
        """Yield a proof for the most demanding unit, and for each start and end."""
        yield self.demanding()
        for opened in (False, True):
            for end in (RELEASED, HANDED_BACK):
                yield self.way(end, opened=opened)

    def demanding(self) -> Proof:
        """Prove that it has every hazard, and every hold step of the pack on its list."""
        name, says = "ways-out/demanding", "One unit has every hazard and every hold step at once."
        unit = _start(self.pack, raised(self.pack, opened=True)).unit
        armed = {one.hazard.key for one in unit.checklist.armed}
        absent = [h.key for h in self.pack.hazards if h.key not in armed]
        holds = (step.key for step in self.pack.steps.values() if step.hold)
        absent += [key for key in holds if key not in unit.checklist.by_key]
        if absent:
            return _refuted(name, says, f"it lacks {', '.join(absent)}", ())
        return Proof(id=name, verdict=Verdict.PROVED, says=says)

    def way(self, end: str, *, opened: bool) -> Proof:
        """Search for acts that bring the most demanding unit to this end."""
        cover = "open" if opened else "closed"
        name = f"ways-out/{end}-from-{cover}"
        says = f"Every unit can be {end}, also one that lies {cover} with nothing signed."
        events = raised(self.pack, opened=opened)
        acts, stuck = self._search(events, end)
        if acts is not None:
            counted = sum(event.kind != "sign_all" for event in acts)
            return Proof(id=name, verdict=Verdict.PROVED, says=says, why=f"in {counted} acts")
        fewest = self._fewest(events, end)
        return _refuted(name, says, f"stuck: {stuck}", (*fewest, Happening(kind=end)))

    def _search(
        self, events: Iterable[Happening], end: str
    ) -> tuple[tuple[Happening, ...] | None, str]:
        """Return the shortest acts to the end, or what is in the way where least is."""
        first = _start(self.pack, events)
        first.take(_SIGN)
        queue, seen = deque([_Place(first, ())]), set[tuple[object, ...]]()
        nearest: list[str] = []
        while queue and len(seen) < _MOST_STATES:
            place = queue.popleft()
            if place.key in seen:
                continue
            seen.add(place.key)
            against = place.walk.against(Happening(kind=end))
            if not against:
                return (*place.acts, Happening(kind=end)), ""
            if not nearest or len(against) < len(nearest):
                nearest = [in_words(reason) for reason in against]
            queue += _next(place)
        return None, "; ".join(nearest)

    def _fewest(self, events: Iterable[Happening], end: str) -> tuple[Happening, ...]:
        """Leave out findings and work for as long as the unit is still stuck."""
        kept, part = list(events), len(list(events)) // 2
        while part:
            for begin in range(len(kept) - part, -1, -part):
                fewer = kept[:begin] + kept[begin + part :]
                if self._search(fewer, end)[0] is None:
                    kept = fewer
            part //= 2
        return tuple(kept)


def raised(pack: Pack, *, opened: bool) -> tuple[Happening, ...]:
    """Return the events after which a unit has every hazard of the table."""
    events = [Happening(kind="received", open=opened)]
    triggers = [trigger for hazard in pack.hazards for trigger in hazard.raised_by]
    for name in sorted({trigger.fact for trigger in triggers if trigger.fact}):
        fact = VOCABULARY[name]
        value = list(fact.words) if fact.kind == "list" else fact.high
        events.append(Happening(kind=FACT, name=name, value=value))
    events += [Happening(kind=FINDING, finding=finding) for finding in FINDINGS]
    events += [Happening(kind=WORK, work=work, before=True) for work in KINDS_OF_WORK]
    if not opened:
        events.append(Happening(kind="cover_fitted"))
    return tuple(events)


def _start(pack: Pack, events: Iterable[Happening]) -> Walk:
    walk = Walk(pack, {})
    walk.unit.given, walk.unit.blank = {}, True
    for event in events:
        walk.take(event)
    return walk


def _next(place: _Place) -> Iterator[_Place]:
    for acts in _ACTS:
        walk = place.walk.copy()
        if all(not walk.take(act).refused for act in acts):
            walk.take(_SIGN)
            yield _Place(walk, (*place.acts, *acts, _SIGN))


def _refuted(name: str, says: str, why: str, events: Iterable[Happening]) -> Proof:
    raw = tuple(event.raw() for event in events)
    return Proof(id=name, verdict=Verdict.REFUTED, says=says, why=why, facts={}, events=raw)
