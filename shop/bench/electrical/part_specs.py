"""What counts of each class of part, and which way; semiconductors and wearing parts beside it."""

from __future__ import annotations

from collections.abc import Callable

from shop.bench.electrical import semiconductor_specs, wearing_part_specs
from shop.bench.electrical.part_judges import (
    AC_OR_DC,
    YES_NO,
    Outcome,
    Parameter,
    PartClass,
    Spec,
    Value,
    ac_or_dc,
    band,
    bears_ac,
    equal,
    ladder,
    reach,
    same,
    under,
)


def _capacity(asked: Value, offered: Value, needed: Spec) -> tuple[Outcome, str]:
    # A line-to-earth part sets the touch current: never more than was there.
    if str(needed.get("safety_class", "")).startswith("Y"):
        return band(0.8, 1.0, 1.0, "")(asked, offered, needed)
    return band(0.9, 1.1, 1.2, "a little more; the bleeder has to empty it in time")(
        asked, offered, needed
    )


_PRECISE = ("mica", "ceramic-class-1")


def _microfarads(asked: Value, offered: Value, needed: Spec) -> tuple[Outcome, str]:
    """Judge by what the capacitor does: filters and tuned circuits live by the value."""
    if needed.get("dielectric") in _PRECISE:
        return equal(1, 5)(asked, offered, needed)
    if needed.get("dielectric") == "film":
        return equal(5, 20)(asked, offered, needed)
    return band(0.95, 1.2, 2.0, "more capacity: mind inrush, fuse and rectifier")(
        asked, offered, needed
    )


def _high_film(needed: Spec, offered: Spec) -> bool:
    """Whether it may be across mains: film or ceramic of 100 V or more."""
    kinds = {needed.get("dielectric"), offered.get("dielectric")}
    return float(needed.get("volts", 0)) >= 100 and bool(
        kinds & {"film", "ceramic-class-1", "ceramic-class-2"}
    )


def _watts(asked: Value, offered: Value, needed: Spec) -> tuple[Outcome, str]:
    # A fusible one opens at its own power: a larger one glows where it should part.
    if needed.get("fusible") == "yes":
        return equal(1)(asked, offered, needed)
    return reach(4, "far larger: it may not fit, and no longer opens as a fuse")(
        asked, offered, needed
    )


def _contacts_differ(needed: Spec, offered: Spec) -> bool:
    known = "contact_supply" in needed or "contact_supply" in offered
    return known or needed.get("contact_volts") != offered.get("contact_volts")


def _told(name: str) -> Callable[[Spec, Spec], bool]:
    """Return a test whether either part tells it."""
    return lambda needed, offered: name in needed or name in offered


_DIELECTRICS = (
    "electrolytic",
    "electrolytic-bipolar",
    "film",
    "ceramic-class-1",
    "ceramic-class-2",
    "mica",
)
_DIELECTRIC = ladder(
    {
        "electrolytic": {
            "electrolytic-bipolar": "",
            "film": "mind its size, and its low ESR in a regulator",
        },
        "electrolytic-bipolar": {"film": ""},
        "ceramic-class-2": {"film": "", "ceramic-class-1": ""},
        "ceramic-class-1": {"mica": "", "film": "mind its inductance at high frequency"},
        "mica": {"ceramic-class-1": ""},
        "film": {"ceramic-class-1": "mind its size and voltage"},
    }
)
_SAFETY = ladder(
    {
        "X2": {"X1": "", "Y2": "", "Y1": ""},
        "X1": {"Y1": ""},
        "Y2": {"Y1": ""},
        "Y4": {"Y2": "", "Y1": ""},
        "none": dict.fromkeys(("X1", "X2", "Y1", "Y2", "Y4"), ""),
    }
)
_BREAKING = ladder({"L": {"E": "", "H": ""}, "E": {"H": ""}})

_CAPACITOR = PartClass(
    name="capacitor",
    title="Capacitor",
    parameters=(
        Parameter(name="microfarads", judge=_microfarads, low=1e-9, high=1e6, vital=True),
        Parameter(name="volts", judge=reach(2.5, "far more voltage: larger, and its ESR differs"), low=1, high=20_000, vital=True),
        Parameter(name="dielectric", judge=_DIELECTRIC, words=_DIELECTRICS, vital=True),
        Parameter(name="supply", judge=bears_ac, words=AC_OR_DC, vital_when=_high_film),
        Parameter(name="safety_class", judge=_SAFETY, words=("none", "X1", "X2", "Y1", "Y2", "Y4"), vital_when=_high_film),
        Parameter(name="tolerance_percent", judge=under(), low=0.01, high=100),
        Parameter(name="rated_celsius", judge=reach(), low=40, high=200),
        Parameter(name="life_hours", judge=reach(), low=100, high=100_000),
        Parameter(name="ripple_amps", judge=reach(), low=0, high=1000),
        Parameter(name="esr_milliohms", judge=under(5, "far lower ESR: a regulator may ring"), low=0, high=1e6),
        Parameter(name="lead_spacing_millimetres", judge=equal(5), low=0, high=200),
        Parameter(name="diameter_millimetres", judge=under(), low=0, high=300),
        Parameter(name="height_millimetres", judge=under(), low=0, high=500),
    ),
    caution="WARNING. Polarity, and discharge before you unsolder. A reversed electrolytic bursts.",
    source="common practice; makers' application notes, read",
)  # fmt: skip

_RESISTOR = PartClass(
    name="resistor",
    title="Resistor",
    parameters=(
        Parameter(name="ohms", judge=equal(1, 5), low=1e-4, high=1e12, vital=True),
        Parameter(name="watts", judge=_watts, low=0.01, high=1000, vital=True),
        Parameter(name="tolerance_percent", judge=under(), low=0.001, high=50),
        Parameter(name="limit_volts", judge=reach(), low=1, high=100_000),
        Parameter(name="fusible", judge=ladder({"no": {"yes": "a fusible one opens sooner"}}), words=YES_NO, vital=True),
        Parameter(
            name="construction",
            judge=ladder(
                {
                    "carbon-film": {"metal-film": "", "metal-oxide": ""},
                    "carbon-composition": {"metal-oxide": "less pulse energy", "carbon-film": "less pulse energy"},
                    "metal-oxide": {"metal-film": "less heat borne: check the surface temperature"},
                    "metal-film": {},
                    "wire-wound": {"metal-oxide": "check the pulse rating"},
                }
            ),
            words=("carbon-film", "carbon-composition", "metal-film", "metal-oxide", "wire-wound"),
        ),
        Parameter(name="length_millimetres", judge=under(), low=0, high=200),
    ),
    caution="WARNING. A fusible or flameproof resistor takes its own kind: it is there to open without fire.",
    source="common practice; IEC 60063 for values",
)  # fmt: skip

_FUSE = PartClass(
    name="fuse",
    title="Fuse-link",
    parameters=(
        Parameter(name="amps", judge=equal(0.1), low=0.001, high=100, vital=True),
        Parameter(name="volts", judge=reach(), low=1, high=10_000, vital=True),
        Parameter(name="speed", judge=same, words=("FF", "F", "M", "T", "TT"), vital=True),
        Parameter(name="breaking", judge=_BREAKING, words=("L", "E", "H"), vital=True),
        Parameter(name="standard", judge=same, words=("IEC 60127", "UL 248"), vital=True),
        Parameter(name="size", judge=same, words=("5x20", "6.3x32", "TR5", "other"), vital=True),
        Parameter(name="supply", judge=ac_or_dc, words=AC_OR_DC, vital_when=_told("supply")),
    ),
    caution="WARNING. Never one size up: find out why it blew.",
    source="industry rule; IEC 60127 against UL 248 from memory",
)

_RELAY = PartClass(
    name="relay",
    title="Relay",
    parameters=(
        Parameter(name="coil_volts", judge=equal(5), low=1, high=250, vital=True),
        Parameter(
            name="coil_ohms",
            judge=band(0.9, 1.5, 3, "weaker drive: measure pull-in"),
            low=1,
            high=100_000,
        ),
        Parameter(
            name="contacts", judge=same, words=("1A", "1C", "2A", "2C", "3C", "4C"), vital=True
        ),
        Parameter(name="contact_amps", judge=reach(), low=0.1, high=100, vital=True),
        Parameter(name="contact_volts", judge=reach(), low=1, high=1000, vital=True),
        Parameter(
            name="contact_supply", judge=ac_or_dc, words=AC_OR_DC, vital_when=_contacts_differ
        ),
        Parameter(name="coil_supply", judge=same, words=AC_OR_DC, vital_when=_told("coil_supply")),
        Parameter(name="least_load_milliamps", judge=under(), low=0, high=10_000),
        Parameter(
            name="contact_material",
            judge=ladder(
                {
                    "silver-alloy": {"silver-gold-flashed": ""},
                    "silver-gold-flashed": {"silver-alloy": "it tarnishes at small signals"},
                }
            ),
            words=("silver-alloy", "silver-gold-flashed", "gold"),
        ),
        Parameter(name="footprint", judge=same, words=("same", "different")),
    ),
    caution="WARNING. A loudspeaker relay has to break direct current: its d.c. rating counts, not the a.c. one.",
    source="relay catalogues, read; common practice",
)

_SUPPRESSION = PartClass(
    name="suppression-capacitor",
    title="X or Y capacitor",
    parameters=(
        Parameter(
            name="safety_class",
            judge=_SAFETY,
            words=("X1", "X2", "Y1", "Y2", "Y4"),
            vital=True,
            decides=True,
        ),
        Parameter(name="microfarads", judge=_capacity, low=1e-6, high=100, vital=True),
        Parameter(name="mains_volts", judge=reach(), low=50, high=1000, vital=True),
        Parameter(name="lead_spacing_millimetres", judge=equal(5), low=0, high=100),
    ),
    caution="WARNING. X never replaces Y: its failure is a shock. Approval marks on the part, not on the bag.",
    source="suppression capacitor tutorials, read: Y2 may replace X2, X2 never Y2",
)

PART_CLASSES: dict[str, PartClass] = {
    part.name: part
    for part in (
        _CAPACITOR, _RESISTOR, _FUSE, _RELAY, *semiconductor_specs.CLASSES, _SUPPRESSION,
        *wearing_part_specs.CLASSES,
    )
}  # fmt: skip
