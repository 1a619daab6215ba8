"""What rooms above let the worker do, round after round: they add to it when the program starts."""

from __future__ import annotations

from collections.abc import Callable

FURTHER_TASKS: dict[str, Callable[..., int]] = {}
