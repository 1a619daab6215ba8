"""Which findings and which work a card shows at once; the others are one fold away.

What is usual is common practice; the fold decides nothing. What is not in sight is not thought of:
what can hurt somebody, and work that asks for the electrical test again, is never folded away.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

from checklists.engine.vocabulary import WORK
from shop.jobs.record import Record

_ALWAYS = frozenset(
    {
        *("electrolytics-aged", "electrolytic-leaking", "joint-cracked", "relay-contacts-oxidised"),
        *("relay-contacts-abraded", "control-scratchy", "fuse-blown"),
        *("resistor-burnt", "transistor-faulty", "previous-repair-poor"),
        *("electrolytics-replaced", "reservoirs-replaced", "joints-reflowed", "relay-replaced"),
        *("relay-cleaned", "controls-cleaned", "fuse-replaced", "resistors-replaced"),
        *("semiconductors-replaced", "socket-replaced", "cleaned", "adjusted"),
    }
)
_CAN_HURT = frozenset(
    {
        *("mains-lead-damaged", "earth-defeated", "fuse-wrong", "protection-bridged"),
        *("insulation-damaged", "wiring-pinched", "suppression-capacitor-aged"),
        *("mains-wiring-changed", "suppression-capacitor-replaced", "board-removed"),
    }
)
_MECHANISM = frozenset({"turntable", "cassette-deck", "open-reel-deck", "disc-player"})
_TAPE = frozenset({"cassette-deck", "open-reel-deck"})
_SOLID_STATE = frozenset({"class-a", "class-ab", "class-d", "rail-switching"})

Facts = Mapping[str, Any]


def _kind_in(kinds: frozenset[str]) -> Callable[[Facts], bool]:
    return lambda facts: facts.get("unit.kind") in kinds


_WHERE: tuple[tuple[frozenset[str], Callable[[Facts], bool]], ...] = (
    (frozenset({"belt-perished", "mechanism-worn", "belt-replaced"}), _kind_in(_MECHANISM)),
    (frozenset({"idler-replaced", "pinch-roller-replaced", "head-aligned"}), _kind_in(_TAPE)),
    (frozenset({"laser-weak", "laser-replaced"}), _kind_in(frozenset({"disc-player"}))),
    (
        frozenset({"output-device-shorted", "output-devices-replaced", "compound-dry"}),
        lambda facts: facts.get("unit.output_stage") in _SOLID_STATE,
    ),
    (
        frozenset({"valve-weak", "resistor-drifted", "valves-replaced", "bias-parts-replaced"}),
        lambda facts: str(facts.get("unit.output_stage", "")).startswith("valve"),
    ),
)
# Below this many a card shows all that there is.
_FEW = 16

Choice = Mapping[str, Any]


def parted(
    choices: Sequence[Choice], record: Record
) -> tuple[list[Choice], list[Choice], list[Choice]]:
    """Return the choices that a card shows at once, those behind its fold, and what ends the list."""
    if len(choices) <= _FEW:
        return list(choices), [], []
    usual = _usual(record)
    words = [choice for choice in choices if _word(choice)]
    first = [choice for choice in words if _word(choice) in usual]
    others = [choice for choice in words if choice not in first]
    return first, others, [choice for choice in choices if not _word(choice)]


def _usual(record: Record) -> set[str]:
    """The usual words for this unit; what was found brings the work that mends the same part."""
    words = {*_ALWAYS, *_CAN_HURT}.union(*(words for words, here in _WHERE if here(record.facts)))
    parts = {finding.partition("-")[0] for finding in record.findings}
    return words | {word for word in WORK if word.partition("-")[0] in parts}


def _word(choice: Choice) -> str:
    data = choice["data"]
    return str(data.get("finding") or data.get("work") or "")
