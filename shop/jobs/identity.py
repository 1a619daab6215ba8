"""Which unit is which: make, model and serial number, however they are typed."""

from __future__ import annotations

import hashlib
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

# Words that people type where there is no serial number to read; compared as `_bare` has them.
NO_SERIAL = frozenset(
    {
        "na",
        "nil",
        "no",
        "none",
        "nonumber",
        "noserial",
        "noserialnumber",
        "nosn",
        "notapplicable",
        "notknown",
        "notreadable",
        "null",
        "illegible",
        "missing",
        "serial",
        "serialnumber",
        "sn",
        "unknown",
        "unreadable",
        "without",
        "x",
    }
)
# So many equal digits are a key held down; fewer may be the number of an early unit.
_HELD_DOWN = 4


def identity_of(make: str, model: str, serial: str) -> str:
    """Return what two spellings of one unit share; empty when the serial number identifies nothing.

    Case and blanks do not count, nor the punctuation of the serial number.
    """
    number = _bare(serial)
    if not number or _names_nothing(number):
        return ""
    named = "\n".join((_folded(make), _folded(model), number))
    return hashlib.sha256(named.encode()).hexdigest()


def _folded(text: str) -> str:
    return "".join(unicodedata.normalize("NFKC", text).casefold().split())


def _bare(serial: str) -> str:
    kept = (sign for sign in _folded(serial) if unicodedata.category(sign)[0] in "LMN")
    return "".join(kept)


def _names_nothing(number: str) -> bool:
    if number in NO_SERIAL or set(number) == {"0"}:
        return True
    least = _HELD_DOWN if number.isdecimal() else 2
    return len(number) >= least and len(set(number)) == 1


@dataclass
class Settlement:
    """What becomes of units that were kept before spellings were compared.

    `identities` by unit; `moves` are jobs that go to another unit; `own` are jobs that get a
    unit of their own, each with the unit whose name it takes.
    """

    identities: dict[int, str] = field(default_factory=dict)
    moves: dict[int, int] = field(default_factory=dict)
    own: dict[int, int] = field(default_factory=dict)


def settled(units: Iterable[Mapping[str, Any]], jobs: Iterable[tuple[int, int]]) -> Settlement:
    """Return how units (`id`, `make`, `model`, `serial`) and jobs (number, unit) of old are settled.

    Spellings of one unit become the first of them. Units that shared no more than a serial
    number like "n/a" are parted: each job keeps one for itself.
    """
    found, first = Settlement(), dict[str, int]()
    of_unit: dict[int, list[int]] = defaultdict(list)
    for number, its_unit in sorted(jobs):
        of_unit[its_unit].append(number)
    for unit in sorted(units, key=lambda row: row["id"]):
        key, name = unit["id"], (unit["make"], unit["model"], unit["serial"])
        identity = identity_of(*name)
        if not identity:
            found.own |= dict.fromkeys(of_unit[key][1:], key)
        elif identity in first:
            found.moves |= dict.fromkeys(of_unit[key], first[identity])
        else:
            first[identity], found.identities[key] = key, identity
    return found
