"""Danger in a result: what a figure means for the hands, said before the figure is used."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

HOT_CELSIUS = 60.0  # metal above it burns skin; the same figure as in the cautions of thermal.py
SAFE_OUTPUT_VOLTS = 30.0  # r.m.s.; the same figure as in the caution of `volts-for`

ES2_VOLTS = 120.0  # d.c.; IEC 62368-1, as in energy.py

Values = Mapping[str, Any]
_LETHAL = "ES3: this voltage can kill."
_STAYS = "Mains off does not take it away: discharge, wait, measure."


def alarm_of(name: str, given: Values, result: Values) -> dict[str, str]:
    """Return signal word and text for a dangerous result; empty when nothing in it is.

    `given` are the inputs as they were typed, `result` what `Calculation.run` returned.
    """
    for danger in (_charge, _test_failed, _hot, _output):
        said = danger(name, given, result)
        if said:
            word, _, text = said.partition(". ")
            return {"signal_word": word, "text": text}
    return {}


def _charge(name: str, given: Values, result: Values) -> str:
    held = f" It holds {result['energy_j']:.3g} J." if "energy_j" in result else ""
    if (result.get("energy_class") or result.get("dc_class")) == "ES3":
        return f"DANGER. {_LETHAL}{held} {_STAYS}"
    if result.get("shock_hazard"):
        return f"DANGER. A shock from it can kill.{held} Discharge, wait, measure."
    if result.get("burn_hazard"):
        return f"WARNING. A short burns and throws metal.{held} Discharge through a resistor."
    if name in ("bleeder", "reforming") and _number(given, "volts", "rated_volts") > ES2_VOLTS:
        return f"DANGER. {_LETHAL} {_STAYS}"
    return ""


def _test_failed(name: str, given: Values, result: Values) -> str:
    failed = result.get("verdict") == "fail" or result.get("strap_verdict") == "fail"
    return _FAILED.get(name, "") if failed else ""


_FAILED = {
    "earth-bond": "DANGER. The earth does not protect. Do not plug the unit in.",
    "insulation-resistance": "DANGER. The insulation does not protect. Do not plug the unit in.",
    "weighted-touch-current": "DANGER. The unit gives a shock. Plug out; nobody touches it before.",
    "static-guard": "DANGER. Do not wear this strap: it may tie you straight to earth.",
}


def _hot(name: str, given: Values, result: Values) -> str:
    touched = ("final_celsius", "case_celsius", "sink_celsius")
    if max((_number(result, key) for key in touched), default=0.0) <= HOT_CELSIUS:
        return ""
    return "CAUTION. Metal above 60 C burns skin: measure with a probe, not a finger."


def _output(name: str, given: Values, result: Values) -> str:
    if name not in ("volts-for", "output-power"):
        return ""
    volts = _number(result, "rms_volts") or _number(given, "rms_volts")
    if volts <= SAFE_OUTPUT_VOLTS:
        return ""
    return f"WARNING. {volts:.3g} V r.m.s. at the terminals is not safe to touch."


def _number(values: Values, *keys: str) -> float:
    """Return the first of these figures that is a number, else 0."""
    for key in keys:
        value = values.get(key)
        if isinstance(value, int | float) and not isinstance(value, bool):
            return float(value)
    return 0.0
