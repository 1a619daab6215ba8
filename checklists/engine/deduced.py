"""What recorded facts say of a fact that nobody recorded.

Facts have no defaults. This is no default: it follows from something that somebody did record, and
only while nothing on record speaks against it. A kind that is not known says nothing.
"""

from __future__ import annotations

from collections.abc import Mapping

from checklists.engine.vocabulary import VOCABULARY, Facts, Value

# The fact that such a deduction rests on.
RESTS_ON = {"unit.has_laser": "unit.kind"}
# A unit of another kind that plays discs has a laser label outside (21 CFR 1040.10(g), from
# memory); whoever sees it records the laser, and what is recorded counts.
_WITHOUT_LASER = frozenset(VOCABULARY["unit.kind"].words) - {"disc-player"}
_SPEAK_OF_A_LASER = {
    "findings": "laser-weak",
    "work": "laser-replaced",
    "complaint.symptoms": "no-read",
}


def with_deduced(facts: Mapping[str, Value]) -> Facts:
    """Return the facts with what follows from them.

    A unit whose kind is known and is not a disc player has no laser; unless somebody recorded one,
    or a finding, work or symptom speaks of one. Findings and work that are not known may.
    """
    known = dict(facts)
    if "unit.has_laser" in facts or facts.get("unit.kind") not in _WITHOUT_LASER:
        return known
    if "findings" in facts and "work" in facts and not _speaks_of_a_laser(facts):
        known["unit.has_laser"] = False
    return known


def _speaks_of_a_laser(facts: Mapping[str, Value]) -> bool:
    said = {name: facts.get(name) for name in _SPEAK_OF_A_LASER}
    return any(
        isinstance(words, list) and _SPEAK_OF_A_LASER[name] in words for name, words in said.items()
    )
