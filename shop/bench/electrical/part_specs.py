"""What counts of each class of part, and which way: equal, reach, stay under, or a ladder."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal, TypeAlias

from shop.bench.units import unit_of

Value: TypeAlias = float | str
Spec: TypeAlias = Mapping[str, Value]
Outcome = Literal["right", "care", "wrong"]
Judge: TypeAlias = Callable[[Value, Value, Spec], tuple[Outcome, str]]
_SLACK = 1e-6


@dataclass(frozen=True, kw_only=True)
class Parameter:
    """One value of a spec: its bounds or words, and the judge of an offered value.

    `vital`: an offered part that does not tell it is refused.
    """

    name: str
    judge: Judge
    low: float = 0.0
    high: float = 1e9
    words: tuple[str, ...] = ()
    vital: bool = False

    @property
    def unit(self) -> str:
        """Its unit, from the name."""
        return unit_of(self.name)


@dataclass(frozen=True, kw_only=True)
class PartClass:
    """A class of parts with its parameters and what to remember."""

    name: str
    title: str
    parameters: tuple[Parameter, ...]
    caution: str
    source: str


def equal(percent: float = 1.0, care_percent: float = 0.0) -> Judge:
    """Accept values within so many percent; with care within `care_percent`."""

    def judge(asked: Value, offered: Value, _: Spec) -> tuple[Outcome, str]:
        off = abs(float(offered) - float(asked)) / (abs(float(asked)) or 1) * 100
        if off <= percent + _SLACK:
            return "right", "the same"
        if off <= care_percent + _SLACK:
            return "care", f"{off:.0f} % off; check that the circuit bears it"
        return "wrong", "it must be the same"

    return judge


def reach(care_ratio: float | None = None, care: str = "") -> Judge:
    """Accept what is at least as much; more than `care_ratio` times as much needs care."""

    def judge(asked: Value, offered: Value, _: Spec) -> tuple[Outcome, str]:
        ratio = float(offered) / float(asked) if float(asked) else 1.0
        if ratio < 1 - _SLACK:
            return "wrong", "it must reach that"
        if care_ratio is not None and ratio > care_ratio + _SLACK:
            return "care", care
        return "right", "reached"

    return judge


def under(care_ratio: float | None = None, care: str = "") -> Judge:
    """Accept what is at most as much; less than 1/`care_ratio` of it needs care."""

    def judge(asked: Value, offered: Value, _: Spec) -> tuple[Outcome, str]:
        if float(offered) > float(asked) * (1 + _SLACK):
            return "wrong", "it must stay under that"
        if care_ratio is not None and float(offered) * care_ratio < float(asked) * (1 - _SLACK):
            return "care", care
        return "right", "it stays under"

    return judge


def band(low: float, high: float, care_high: float, care: str) -> Judge:
    """Accept ratios from `low` to `high`; up to `care_high` with care."""

    def judge(asked: Value, offered: Value, _: Spec) -> tuple[Outcome, str]:
        ratio = float(offered) / float(asked) if float(asked) else 1.0
        if low - _SLACK <= ratio <= high + _SLACK:
            return "right", "near enough"
        if high < ratio <= care_high + _SLACK:
            return "care", care
        return "wrong", f"it must be {low:g} to {care_high:g} times that"

    return judge


def ladder(allowed: Mapping[str, Mapping[str, str]]) -> Judge:
    """Accept the same word; for each asked word the others that may stand in, '' or a care."""

    def judge(asked: Value, offered: Value, _: Spec) -> tuple[Outcome, str]:
        if asked == offered:
            return "right", "the same"
        others = allowed.get(str(asked), {})
        if offered not in others:
            return "wrong", "it cannot stand in for that"
        care = others[str(offered)]
        return ("care", care) if care else ("right", "equal or better")

    return judge


same = ladder({})


def _capacity(asked: Value, offered: Value, needed: Spec) -> tuple[Outcome, str]:
    # A line-to-earth part sets the touch current: never more than was there.
    if str(needed.get("safety_class", "")).startswith("Y"):
        return band(0.8, 1.0, 1.0, "")(asked, offered, needed)
    return band(0.9, 1.1, 1.2, "a little more; the bleeder has to empty it in time")(
        asked, offered, needed
    )


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
    }
)
_BREAKING = ladder({"L": {"E": "", "H": ""}, "E": {"H": ""}})
_YES_NO = ("yes", "no")

_CAPACITOR = PartClass(
    name="capacitor",
    title="Capacitor",
    parameters=(
        Parameter(
            name="microfarads",
            judge=band(0.95, 1.2, 2.0, "more capacity: mind inrush, fuse and rectifier"),
            low=1e-9, high=1e6, vital=True,
        ),
        Parameter(name="volts", judge=reach(2.5, "far more voltage: larger, and its ESR differs"), low=1, high=20_000, vital=True),
        Parameter(name="dielectric", judge=_DIELECTRIC, words=_DIELECTRICS, vital=True),
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
        Parameter(name="watts", judge=reach(4, "far larger: it may not fit, and no longer opens as a fuse"), low=0.01, high=1000, vital=True),
        Parameter(name="tolerance_percent", judge=under(), low=0.001, high=50),
        Parameter(name="limit_volts", judge=reach(), low=1, high=100_000),
        Parameter(name="fusible", judge=ladder({"no": {"yes": "a fusible one opens sooner"}}), words=_YES_NO),
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
        Parameter(name="contact_volts", judge=reach(), low=1, high=1000),
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

_TRANSISTOR = PartClass(
    name="power-transistor",
    title="Power transistor",
    parameters=(
        Parameter(name="technology", judge=same, words=("bipolar", "MOSFET", "lateral-MOSFET", "IGBT", "darlington"), vital=True),
        Parameter(name="polarity", judge=same, words=("NPN", "PNP", "N", "P"), vital=True),
        Parameter(name="limit_volts", judge=reach(), low=1, high=5000, vital=True),
        Parameter(name="limit_amps", judge=reach(), low=0.01, high=1000, vital=True),
        Parameter(name="limit_watts", judge=reach(), low=0.1, high=5000, vital=True),
        Parameter(name="safe_area_amps", judge=reach(), low=0.001, high=1000, vital=True),
        Parameter(name="current_gain", judge=band(0.8, 2.0, 4.0, "more gain: check stability and matching"), low=1, high=100_000),
        Parameter(name="transit_hertz", judge=band(0.7, 3.0, 20.0, "far faster: look for oscillation"), low=1e3, high=1e10),
        Parameter(name="case_kelvin_per_watt", judge=under(), low=0.01, high=100),
        Parameter(name="package", judge=same, words=("TO-3", "TO-220", "TO-247", "TO-264", "TO-126", "other"), vital=True),
        Parameter(name="pinout", judge=same, words=("BCE", "ECB", "CBE", "GDS", "GSD", "other")),
        Parameter(
            name="insulated_tab",
            judge=ladder({"no": {"yes": "more thermal resistance inside: check the junction"}, "yes": {"no": "it needs an insulator now: test tab to sink"}}),
            words=_YES_NO,
        ),
    ),
    caution="WARNING. Replace in pairs, matched; old output types are widely counterfeited: buy where the source is known.",
    source="common practice; safe area at the rail voltage from both data sheets",
)  # fmt: skip

_SUPPRESSION = PartClass(
    name="suppression-capacitor",
    title="Suppression capacitor (X, Y)",
    parameters=(
        Parameter(
            name="safety_class", judge=_SAFETY, words=("X1", "X2", "Y1", "Y2", "Y4"), vital=True
        ),
        Parameter(name="microfarads", judge=_capacity, low=1e-6, high=100, vital=True),
        Parameter(name="mains_volts", judge=reach(), low=50, high=1000, vital=True),
        Parameter(name="lead_spacing_millimetres", judge=equal(5), low=0, high=100),
    ),
    caution="WARNING. X never replaces Y: its failure is a shock. Approval marks on the part, not on the bag.",
    source="suppression capacitor tutorials, read: Y2 may replace X2, X2 never Y2",
)

PART_CLASSES: dict[str, PartClass] = {
    part.name: part for part in (_CAPACITOR, _RESISTOR, _FUSE, _RELAY, _TRANSISTOR, _SUPPRESSION)
}
