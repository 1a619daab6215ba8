"""One calculation as shell, page and plan see it: its inputs, and the words of its docstring."""

from __future__ import annotations

import inspect
import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from functools import cached_property
from types import UnionType
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

from shop.bench.titles import WORDS, Words
from shop.bench.units import spoken, typeset, unit_of

_SECTION = re.compile(r"^(Formula|Caution|Source): (.*?)(?=^\w+: |\Z)", re.DOTALL | re.MULTILINE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One input: number, whole, yes-no, word, text or list of numbers or texts."""

    name: str
    kind: str
    default: Any = None
    needed: bool = False
    words: tuple[str, ...] = ()

    @property
    def unit(self) -> str:
        """Its unit, from its name."""
        return unit_of(self.name)

    @property
    def label(self) -> str:
        """What a form calls it."""
        name = spoken(self.name)
        name = name[:1].upper() + name[1:]
        return f"{name} ({typeset(self.unit)})" if self.unit else name

    @property
    def many(self) -> bool:
        """Whether it takes several values."""
        return self.kind in ("numbers", "texts")

    @property
    def default_text(self) -> str:
        """The default as one would type it."""
        if self.default in (None, False, "", ()):
            return ""
        return f"{self.default:g}" if isinstance(self.default, float) else str(self.default)


@dataclass(frozen=True, kw_only=True)
class Calculation:
    """A plain function with a name, a group for lists, and what its docstring says."""

    name: str
    group: str
    function: Callable[..., Any]
    # Calculations that read a file of the machine stay in the shell.
    shell_only: bool = False
    own_inputs: tuple[Input, ...] = ()
    own_words: tuple[tuple[str, str], ...] = ()
    own_title: Words | None = None

    @cached_property
    def inputs(self) -> dict[str, Input]:
        """The inputs by name, in order."""
        return {asked.name: asked for asked in self.own_inputs or _inputs_of(self.function)}

    @property
    def words(self) -> Words:
        """What it is called and what it gives; one without words is told by its docstring."""
        plain = self.about.removeprefix("Return ").replace("`", "")
        by_name = self.name.replace("-", " ").capitalize()
        return (
            self.own_title
            or WORDS.get(self.name)
            or Words(by_name, plain[:1].upper() + plain[1:], ())
        )

    @property
    def title(self) -> str:
        """What people call it."""
        return self.words.title

    @property
    def does(self) -> str:
        """What it gives, in a sentence."""
        return self.words.gives

    @property
    def about(self) -> str:
        """The first line of the docstring."""
        return self._docstring.get("about", "")

    @property
    def warns(self) -> dict[str, str]:
        """The caution as signal word and text; empty when there is none."""
        word, _, text = self.caution.partition(". ")
        return {"signal_word": word, "text": text} if text else {}

    @property
    def formula(self) -> str:
        """How it is worked out."""
        return self._docstring.get("Formula", "")

    @property
    def caution(self) -> str:
        """What to mind, with a signal word of ANSI Z535."""
        return self._docstring.get("Caution", "")

    @property
    def source(self) -> str:
        """Where formula and limits come from."""
        return self._docstring.get("Source", "")

    @cached_property
    def _docstring(self) -> dict[str, str]:
        text = inspect.getdoc(self.function) or ""
        sections = {name: " ".join(body.split()) for name, body in _SECTION.findall(text)}
        about = text.splitlines()[0] if text else ""
        return {"about": about, **sections, **dict(self.own_words)}

    def run(self, arguments: Mapping[str, Any]) -> dict[str, Any]:
        """Return the result as a dict; ValueError with a sentence for bad input."""
        for given in arguments:
            if given not in self.inputs:
                wanted = ", ".join(self.inputs)
                raise ValueError(f"{given} is not an input of {self.name}; it takes {wanted}.")
        absent = [n for n, asked in self.inputs.items() if asked.needed and n not in arguments]
        if absent:
            raise ValueError(f"{self.name} also needs {', '.join(absent)}.")
        for name, value in arguments.items():
            _require_kind(self.inputs[name], value)
        result: dict[str, Any] = _finite(asdict(self.function(**arguments)))
        return result


def _require_kind(asked: Input, value: Any) -> None:
    """ValueError when one value is given for many, or many for one."""
    several = isinstance(value, list | tuple)
    if asked.many and not several:
        raise ValueError(f"{asked.name} is {value!r}; it must be a list.")
    if not asked.many and several:
        raise ValueError(f"{asked.name} is {value!r}; it must be one value.")
    if asked.kind == "texts" and not all(isinstance(text, str) for text in value):
        raise ValueError(f"{asked.name} is {value!r}; it must be a list of texts.")


def _inputs_of(function: Callable[..., Any]) -> list[Input]:
    hints = get_type_hints(function)
    return [
        _input(parameter.name, hints[parameter.name], parameter.default)
        for parameter in inspect.signature(function).parameters.values()
    ]


def _input(name: str, hint: Any, default: Any) -> Input:
    needed = default is inspect.Parameter.empty
    kind, words = _kind(hint)
    return Input(
        name=name, kind=kind, default=None if needed else default, needed=needed, words=words
    )


def _kind(hint: Any) -> tuple[str, tuple[str, ...]]:
    """Return the kind of input that a type hint means, and the words it takes."""
    if get_origin(hint) in (Union, UnionType):
        hint = next(part for part in get_args(hint) if part is not type(None))
    if get_origin(hint) is Literal:
        return "word", tuple(get_args(hint))
    if get_origin(hint) is Sequence:
        return ("texts" if str in get_args(hint) else "numbers"), ()
    return {bool: "yes-no", int: "whole", str: "text"}.get(hint, "number"), ()


def _finite(value: Any) -> Any:
    """Return a result fit for JSON: no number that is none."""
    if isinstance(value, dict):
        return {name: _finite(member) for name, member in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(member) for member in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value
