"""What a relay or switch contact breaks of alternating and direct current."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from shop.bench.inputs import one_of, within

# What a contact of one gap breaks of direct current, resistive, V and A; a line on double
# logarithmic paper between. Catalogues of relays for printed boards, from memory; others break more.
_DIRECT = ((30.0, 10.0), (110.0, 0.3), (220.0, 0.12))
Current = Literal["ac", "dc"]


@dataclass(frozen=True, slots=True)
class ContactRating:
    """Whether a relay or switch contact breaks a load."""

    breaks_amps: float
    verdict: str
    says: str


def contact_rating(
    volts: float,
    amps: float,
    rated_amps: float = 10.0,
    current: Current = "dc",
    rated_ac_volts: float = 250.0,
    rated_dc_volts: float = 30.0,
) -> ContactRating:
    """Return whether a contact breaks a resistive load of alternating or direct current.

    volts 0.1..1000 V and amps 0.001..1000 A of the load; rated_amps 0.1..100 A; rated volts 1..1000 V
    for alternating, 1..500 V for direct current, as marked.
    Formula: alternating current: within both marks. Direct current: up to its mark the rated current, above
    it along 10 A at 30 V, 0.3 A at 110 V, 0.12 A at 220 V, lowered for a mark below 30 V, and never
    more than the rated current or the watts of both marks.
    Caution: DANGER. An arc of direct current does not go out: the loudspeaker relay of an amplifier that
    failed may weld or burn. A loudspeaker or coil is worse than a resistor.
    Source: relay catalogues, resistive load, one gap, from memory.
    """
    load_volts = within("volts", volts, 0.1, 1000, "V")
    load = within("amps", amps, 1e-3, 1000, "A")
    rated = within("rated_amps", rated_amps, 0.1, 100, "A")
    alternating = within("rated_ac_volts", rated_ac_volts, 1, 1000, "V")
    direct = within("rated_dc_volts", rated_dc_volts, 1, 500, "V")
    if one_of("current", current, ("ac", "dc")) == "ac":
        breaks = rated if load_volts <= alternating else 0.0
    else:
        breaks = _direct_amps(load_volts, rated, direct)
    enough = load <= breaks * (1 + 1e-9)
    kind = "a.c." if current == "ac" else "d.c."
    says = (
        f"At {load_volts:g} V {kind} it breaks {breaks:.2g} A"
        f"{'' if enough else f', and not {load:.3g} A'}."
    )
    return ContactRating(breaks, "good" if enough else "no", says)


def _direct_amps(volts: float, rated: float, mark: float) -> float:
    """Return what a contact breaks of direct current; nothing above the last figure of the table."""
    if volts <= mark:
        return rated
    known, breaks = zip(*_DIRECT, strict=True)
    # A contact marked for less has a smaller gap: its line begins at its own mark.
    on_line = volts * max(1.0, known[0] / mark)
    if on_line > known[-1]:
        return 0.0
    by_gap = float(np.exp(np.interp(math.log(on_line), np.log(known), np.log(breaks))))
    return min(by_gap, rated * mark / volts)
