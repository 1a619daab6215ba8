"""How an offered value is judged: equal, reach, stay under, a band, or a ladder of words."""

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
OTHER = "other"


@dataclass(frozen=True, kw_only=True)
class Parameter:
    """One value of a spec: its bounds or words, and the judge of an offered value.

    `vital`: an offered part that does not tell it is refused, and one that is needed without it
    is never said to fit. `vital_when`: the same where it holds of the two specs. `decides`: one
    that is needed without it is refused.
    """

    name: str
    judge: Judge
    low: float = 0.0
    high: float = 1e9
    words: tuple[str, ...] = ()
    vital: bool = False
    vital_when: Callable[[Spec, Spec], bool] | None = None
    decides: bool = False

    def is_vital(self, needed: Spec, offered: Spec) -> bool:
        """Whether it may not be left out, of these two parts."""
        return self.vital or (self.vital_when is not None and self.vital_when(needed, offered))

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
        if OTHER in (asked, offered):
            return "care", "the word tells nothing; lay the two drawings side by side"
        if asked == offered:
            return "right", "the same"
        others = allowed.get(str(asked), {})
        if offered not in others:
            return "wrong", "it cannot stand in for that"
        care = others[str(offered)]
        return ("care", care) if care else ("right", "equal or better")

    return judge


same = ladder({})
# Of a contact or fuse: what breaks direct current breaks alternating current of the same volts, never
# the other way. It holds of no capacitor and no varistor, which the peak of the a.c. reaches.
ac_or_dc = ladder({"ac": {"dc": "rated for d.c.: see that its current holds for a.c. too"}})
AC_OR_DC = ("ac", "dc")
PINOUT = ("the same", OTHER)


def pinout(asked: Value, offered: Value, _: Spec) -> tuple[Outcome, str]:
    """Accept the same pinout alone: of another one no drawing makes the same."""
    if OTHER in (asked, offered):
        return "wrong", "its pins are in other places"
    return "right", "the same"


def bears_ac(asked: Value, offered: Value, _: Spec) -> tuple[Outcome, str]:
    """Judge what a capacitor is rated for: its a.c. volts hold for d.c., its d.c. volts not for a.c."""
    if asked == offered or asked == "dc":
        return "right", "it bears that"
    return "wrong", "its d.c. volts are no a.c. volts; look up its a.c. rating, which is far lower"


YES_NO = ("yes", "no")
