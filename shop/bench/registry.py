"""The calculations by name, for the shell and for the plans of steps."""

from __future__ import annotations

import dataclasses
import inspect
from collections.abc import Callable, Mapping
from typing import Any

from shop.bench import bias, discharge, intermittent, limiter, safety_tests

CALCULATIONS: dict[str, Callable[..., Any]] = {
    "clean-trials": intermittent.clean_trials,
    "discharge": discharge.discharge,
    "earth-limit": safety_tests.earth_limit,
    "emitter-bias": bias.emitter_bias,
    "lamp-limiter": limiter.lamp_limiter,
    "stored-energy": discharge.stored_energy,
    "touch-current": safety_tests.touch_current,
    "valve-idle": bias.valve_idle,
}


def run(name: str, arguments: Mapping[str, float]) -> dict[str, Any]:
    """Return the result as a dict; KeyError for an unknown name, ValueError with a sentence."""
    calculation = CALCULATIONS[name]
    asked = inspect.signature(calculation).parameters
    for given in arguments:
        if given not in asked:
            raise ValueError(f"{given} is not an input of {name}; it takes {', '.join(asked)}.")
    absent = [p.name for p in asked.values() if p.default is p.empty and p.name not in arguments]
    if absent:
        raise ValueError(f"{name} also needs {', '.join(absent)}.")
    return dataclasses.asdict(calculation(**arguments))


def plan_result(name: str, arguments: Mapping[str, float]) -> tuple[dict[str, Any] | None, str]:
    """Return (result, "") for a step's plan, or (None, sentence) when it cannot be worked out."""
    try:
        return run(name, arguments), ""
    except ValueError as error:
        return None, str(error)


def about(name: str) -> str:
    """Return the first line of the calculation's docstring."""
    return (inspect.getdoc(CALCULATIONS[name]) or "").splitlines()[0]
