"""Fuse-links: opening times by IEC 60127-2 and UL 248-14, and whether a value is plausible."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from shop.bench.inputs import one_of, within

Sheet = Literal["1", "2", "3", "5", "UL-248-14", "UL-248-14-D"]
SHEETS = ("1", "2", "3", "5", "UL-248-14", "UL-248-14-D")

# Least and most seconds at multiples of the rated current, None: no bound.
Gates = dict[float, tuple[float | None, float | None]]
_HOUR, _HALF_HOUR = 3600.0, 1800.0
# Up to 100 mA, IEC 60127-2 from memory of published comparisons.
_SMALL: dict[str, Gates] = {
    "2": {
        1.5: (_HOUR, None), 2.1: (None, _HALF_HOUR), 2.75: (0.01, 0.5), 4.0: (0.003, 0.1),
        10.0: (None, 0.02),
    },
    "3": {
        1.5: (_HOUR, None), 2.1: (None, 120.0), 2.75: (0.2, 10.0), 4.0: (0.04, 3.0),
        10.0: (0.01, 0.3),
    },
}  # fmt: skip
STANDARD_AMPS, STANDARD_UL_AMPS = 10.0, 30.0  # where the sheets end, and these gates of UL 248-14


def _quick_high(amps: float) -> Gates:
    """Return sheet 1, quick and high breaking; read in a data sheet, 1.5 from memory."""
    if amps > 6.3:
        at_275, at_400, at_1000 = (0.04, 20.0), (0.01, 1.0), 0.03
    else:
        at_275, at_400, at_1000 = (0.01, 2.0 if amps <= 4 else 3.0), (0.003, 0.3), 0.02
    return {
        1.5: (_HOUR, None), 2.1: (None, _HALF_HOUR), 2.75: at_275, 4.0: at_400, 10.0: (None, at_1000),
    }  # fmt: skip


def _ul(amps: float, delayed: bool) -> Gates:
    """Return the gates of UL 248-14 up to 30 A; 135 and 200 % read, hold and delay from memory."""
    delay = (5.0 if amps <= 3 else 12.0) if delayed else None
    return {1.0: (4 * _HOUR, None), 1.35: (delay, _HOUR), 2.0: (delay, 120.0)}


def _gates(sheet: str, amps: float) -> Gates:
    """Return the time gates of a standard sheet for a rated current in A."""
    if sheet == "1":
        return _quick_high(amps)
    if sheet.startswith("UL"):
        return _ul(amps, delayed=sheet.endswith("D"))
    if sheet in ("2", "3") and amps <= 0.1:  # the small ones open faster; from memory
        return _SMALL[sheet]
    if sheet == "2":  # quick, low breaking; from memory
        return {
            1.5: (_HOUR, None), 2.1: (None, _HALF_HOUR), 2.75: (0.05, 2.0),
            4.0: (0.01, 0.3), 10.0: (None, 0.02),
        }  # fmt: skip
    if sheet == "3":  # time-lag, low breaking; read in a 213 series data sheet
        return {
            1.5: (_HOUR, None), 2.1: (None, 120.0), 2.75: (0.6, 10.0),
            4.0: (0.15, 3.0), 10.0: (0.02, 0.3),
        }  # fmt: skip
    # Time-lag, high breaking; read in a 215 series data sheet.
    at_275 = 0.25 if amps <= 0.8 else 0.75
    at_400 = 0.095 if amps <= 3.15 else 0.15
    carries = _HOUR if amps <= 6.3 else _HALF_HOUR
    return {
        1.5: (carries, None), 2.1: (None, _HALF_HOUR), 2.75: (at_275, 80.0),
        4.0: (at_400, 5.0), 10.0: (0.01, 0.15),
    }  # fmt: skip


@dataclass(frozen=True, slots=True)
class FuseTimes:
    """When a fuse-link opens; None where the standard sets no bound."""

    multiple: float
    earliest_seconds: float | None
    latest_seconds: float | None
    says: str


def fuse_times(rated_amps: float, amps: float, sheet: Sheet = "3") -> FuseTimes:
    """Return the earliest and latest opening at a current, by the gates of IEC 60127-2 or UL 248-14.

    rated_amps 0.03..30 A, amps 0..10,000 A; sheet 1 (F, high breaking), 2 (F, low breaking), 3 (T,
    low breaking), 5 (T, high breaking), UL-248-14 or UL-248-14-D (time-delay). Between two gates the bounds of the neighbours hold: it opens no
    sooner than at the next higher gate and no later than at the next lower one.
    Formula: gates at 1.5, 2.1, 2.75, 4 and 10 times the rated current; UL at 1, 1.35 and 2 times.
    Caution: WARNING. The ampere of IEC 60127 (carries 150 % for an hour) is not the ampere of UL 248.
    Source: sheets 1, 3 and 5 read in data sheets (W8.4, W8.5); sheet 2 from memory; UL 248-14 at 1.35
    and 2 times read in a maker's guide, the rest from memory.
    """
    rated = within("rated_amps", rated_amps, 0.03, 30, "A")
    multiple = within("amps", amps, 0, 10_000, "A") / rated
    gates = _gates(one_of("sheet", sheet, SHEETS), rated)
    # A tenth of a per mille of slack: 13.75 A through 5 A is the gate of 2.75.
    reached = [m for m in gates if m <= multiple * 1.0001]
    beyond = [m for m in gates if m >= multiple * 0.9999]
    earliest = max((low for m in beyond if (low := gates[m][0]) is not None), default=None)
    latest = min((high for m in reached if (high := gates[m][1]) is not None), default=None)
    says = _times_said(multiple, earliest, latest)
    most = STANDARD_UL_AMPS if sheet.startswith("UL") else STANDARD_AMPS
    if rated > most:
        says += f" The sheets end at {most:g} A: for this one ask its maker's data."
    return FuseTimes(multiple, earliest, latest, says)


def _times_said(multiple: float, earliest: float | None, latest: float | None) -> str:
    if latest is None:
        held = _time(earliest or 0.0)
        return f"At {multiple:.3g} times its rated current it holds for at least {held}."
    soonest = f", no sooner than {_time(earliest)}" if earliest else ""
    return f"At {multiple:.3g} times its rated current it opens within {_time(latest)}{soonest}."


def _time(seconds: float) -> str:
    if seconds >= 120:
        return f"{seconds / 60:g} min"
    return f"{seconds:g} s"


@dataclass(frozen=True, slots=True, kw_only=True)
class FusePlausible:
    """Whether a mains fuse fits what the unit draws."""

    steady_amps: float
    least_amps: float
    most_amps: float
    verdict: str
    says: str


def fuse_plausible(
    fuse_amps: float, mains_volts: float, consumed_watts: float, power_factor: float = 0.7
) -> FusePlausible:
    """Return whether a primary fuse is plausible for the consumption on the rating plate.

    fuse_amps 0.03..30 A, mains_volts 90..260 V, consumed_watts 1..5000 W, power_factor 0.3..1.
    This finds slips (a value ten times too large, the other mains' fuse); it never replaces the
    value printed at the holder.
    Formula: I = P / (V pf); plausible from 1 to 4 times I.
    Caution: WARNING. Same speed, value, voltage and breaking class as marked; never one size up.
    Source: common practice; a power factor of 0.7 for a rectifier with reservoir is from memory.
    """
    fuse = within("fuse_amps", fuse_amps, 0.03, 30, "A")
    volts = within("mains_volts", mains_volts, 90, 260, "V")
    factor = within("power_factor", power_factor, 0.3, 1, "")
    steady = within("consumed_watts", consumed_watts, 1, 5000, "W") / volts / factor
    least, most = steady, 4 * steady
    if fuse < least * (1 - 1e-9):
        says = f"{fuse:g} A is below the {steady:.2g} A that the unit draws: it would blow in use."
        return FusePlausible(
            steady_amps=steady, least_amps=least, most_amps=most, verdict="too-small", says=says
        )
    if fuse > most * (1 + 1e-9):
        times = math.floor(fuse / steady)
        says = f"{fuse:g} A is {times} times what the unit draws: it protects little. Look it up."
        return FusePlausible(
            steady_amps=steady, least_amps=least, most_amps=most, verdict="too-large", says=says
        )
    says = f"{fuse:g} A is plausible for a unit that draws {steady:.2g} A."
    return FusePlausible(
        steady_amps=steady, least_amps=least, most_amps=most, verdict="plausible", says=says
    )
