"""The solver, loaded when something is first asked of it: it is an extra, and takes a while to load."""

from __future__ import annotations

from typing import Any


class NoSolver(RuntimeError):
    """The solver is not installed."""

    def __init__(self) -> None:
        super().__init__("The solver z3 is not installed; install benchtag[proof], or z3-solver.")


class _Solver:
    """The module `z3`, name by name; NoSolver where it is missing."""

    def __getattr__(self, name: str) -> Any:
        try:
            import z3  # noqa: PLC0415 - an extra
        except ModuleNotFoundError:
            raise NoSolver from None
        found = getattr(z3, name)
        setattr(self, name, found)
        return found


z3: Any = _Solver()
