"""Whether one part may stand in for another: parameter by parameter, with every reason."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from shop.bench.electrical.part_judges import Parameter, PartClass
from shop.bench.electrical.part_specs import PART_CLASSES
from shop.bench.inputs import one_of, within
from shop.bench.units import spoken
from shop.lib import typed_numbers

Value: TypeAlias = float | str
Spec: TypeAlias = Mapping[str, Value]
Outcome = Literal["right", "care", "wrong"]
_ORDER = {"fits": 0, "with-care": 1, "no": 2}


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """One parameter: what was asked, what is offered, and what that means."""

    parameter: str
    asked: str
    offered: str
    outcome: Outcome
    says: str


@dataclass(frozen=True, slots=True)
class Substitution:
    """The verdict (fits, with-care or no) and the reason for each parameter."""

    verdict: str
    says: str
    reasons: tuple[Reason, ...]

    @property
    def cares(self) -> int:
        """How many parameters need care."""
        return sum(1 for reason in self.reasons if reason.outcome == "care")


def read_spec(part_class: str, values: Mapping[str, object], whose: str = "") -> dict[str, Value]:
    """Return the known parameters of a spec, checked; ValueError names what is wrong.

    Empty values are left out: not known. Words come from the closed lists of the class.
    """
    known = {parameter.name: parameter for parameter in _class_of(part_class).parameters}
    kept: dict[str, Value] = {}
    for name, value in values.items():
        parameter = known.get(name)
        if parameter is None:
            wanted = ", ".join(known)
            raise ValueError(f"{whose}{name} is not known of a {part_class}; it has {wanted}.")
        if value is None or value == "":
            continue
        kept[name] = _read(f"{whose}{name}", parameter, value)
    return kept


def _read(name: str, parameter: Parameter, value: object) -> Value:
    if parameter.words:
        return one_of(name, str(value), parameter.words)
    if isinstance(value, str):
        try:
            value = typed_numbers.number(value, unit=parameter.unit)
        except typed_numbers.TypedWrong as wrong:
            raise ValueError(
                f"{name} is {value!r}; it must be a number of {parameter.unit}. {wrong}"
            ) from None
    return within(name, value, parameter.low, parameter.high, parameter.unit)  # type: ignore[arg-type]


def _class_of(part_class: str) -> PartClass:
    return PART_CLASSES[one_of("part_class", part_class, tuple(PART_CLASSES))]


def substitute(part_class: str, needed: Spec, offered: Spec) -> Substitution:
    """Return whether `offered` may stand in for `needed`, both specs of one part class.

    Unknown is not equal. What the needed spec leaves out is not compared, and where it is vital
    the part never fits: it needs care, or is refused where the value decides. What the offered
    one leaves out needs care, and where it is vital the part is refused.
    ValueError with a sentence for a value that cannot be.
    Formula: per parameter equal, reach (at least), under (at most), band, or a ladder of words.
    Caution: WARNING. Safety-marked parts are replaced by the same type and rating; service data comes first.
    Source: makers' and industry rules as named in part_specs.py; common practice for the rest.
    """
    asked = read_spec(part_class, needed, "needed ")
    given = read_spec(part_class, offered, "offered ")
    if not asked:
        raise ValueError("Nothing of the needed part is known; give at least one of its values.")
    found = (_reason(parameter, asked, given) for parameter in _class_of(part_class).parameters)
    reasons = tuple(reason for reason in found if reason is not None)
    return _verdict(reasons)


def _verdict(reasons: tuple[Reason, ...]) -> Substitution:
    wrong = [reason for reason in reasons if reason.outcome == "wrong"]
    care = [reason for reason in reasons if reason.outcome == "care"]
    if wrong:
        return Substitution("no", f"Not a substitute: {_listed(wrong)}", reasons)
    if care:
        return Substitution("with-care", f"It can stand in, with care: {_listed(care)}", reasons)
    return Substitution("fits", "It can stand in: every value that is known is met.", reasons)


def _listed(reasons: Sequence[Reason]) -> str:
    return " ".join(reason.says for reason in reasons)


def _reason(parameter: Parameter, needed: Spec, offered: Spec) -> Reason | None:
    """Return what one parameter says, or None when nothing is asked of it."""
    vital = parameter.is_vital(needed, offered)
    if parameter.name in needed:
        return _judged(
            parameter, needed[parameter.name], offered.get(parameter.name), needed, vital
        )
    if not vital:
        return None
    given = offered.get(parameter.name)
    return _unknown(
        parameter,
        "not known",
        "not known" if given is None else _amount(parameter, given),
        "wrong" if parameter.decides else "care",
        "of the needed part is not known; look it up first.",
    )


def _unknown(parameter: Parameter, asked: str, offered: str, outcome: Outcome, why: str) -> Reason:
    says = f"{spoken(parameter.name)} {why}".capitalize()
    return Reason(
        parameter=parameter.name, asked=asked, offered=offered, outcome=outcome, says=says
    )


def _judged(
    parameter: Parameter, asked: Value, offered: Value | None, needed: Spec, vital: bool
) -> Reason:
    if offered is None:
        why = "of the offered part is not known" + (
            ", and it must be." if vital else "; look it up."
        )
        outcome: Outcome = "wrong" if vital else "care"
        return _unknown(parameter, _amount(parameter, asked), "not known", outcome, why)
    label = spoken(parameter.name)
    outcome, why = parameter.judge(asked, offered, needed)
    wanted, given = _amount(parameter, asked), _amount(parameter, offered)
    return Reason(
        parameter=parameter.name,
        asked=wanted,
        offered=given,
        outcome=outcome,
        says=f"{label.capitalize()} {given} for {wanted}: {why}.",
    )


def _amount(parameter: Parameter, value: Value) -> str:
    return value if isinstance(value, str) else f"{value:g} {parameter.unit}".strip()


@dataclass(frozen=True, slots=True)
class Candidate:
    """A part of the shop's own list, with what it is, how many lie free, and its best price."""

    name: str
    spec: Spec
    free: int = 0
    price: float | None = None


@dataclass(frozen=True, slots=True)
class Ranked:
    """A candidate with its verdict."""

    candidate: Candidate
    verdict: Substitution


def ranked(part_class: str, needed: Spec, candidates: Sequence[Candidate]) -> list[Ranked]:
    """Return candidates by verdict, fewest cares, those in stock first, then by price and name."""
    judged = [
        Ranked(candidate, substitute(part_class, needed, candidate.spec))
        for candidate in candidates
    ]
    return sorted(judged, key=_place)


def _place(ranked: Ranked) -> tuple[int, int, bool, float, str]:
    candidate, verdict = ranked.candidate, ranked.verdict
    price = float("inf") if candidate.price is None else candidate.price
    return _ORDER[verdict.verdict], verdict.cares, candidate.free <= 0, price, candidate.name
