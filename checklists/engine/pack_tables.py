"""The tables of a pack as they are written: keys, types and closed words, and what they become."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, model_validator

from checklists.engine import cel, checking_packs
from checklists.engine.field_types import (
    Asked,
    Condition,
    Gate,
    Name,
    PersonRole,
    Positive,
    Source,
    facts_known,
)
from checklists.engine.hazard_tables import Triggers
from checklists.engine.pack import (
    Card,
    Caution,
    Limit,
    Plan,
    Reading,
    Rule,
    RuleLimit,
    Step,
    Suspect,
)
from checklists.engine.roles import ReadingRole, StepRole
from checklists.engine.strict_tables import (
    Builds,
    Table,
    TableError,
    finite_number,
    is_table,
    member_of,
    must_be,
    one_of,
    taken,
)
from checklists.engine.words import (
    COVER,
    MEASURED,
    PHASES,
    POWER,
    SCOPES,
    SIGNAL_WORDS,
)


def _limit(value: object) -> Limit:
    if is_table(value):
        table = taken(_WorkedOut, value)
        return Limit(table.unknown, table.known)
    return Limit(finite_number(value, "a number, or { known = 'CEL', unknown = number }"))


def _sums(value: object) -> tuple[cel.Quantity, ...]:
    """One sum, or a list of which the first counts whose facts are known."""
    sources = value if isinstance(value, list) and value else [value]
    if not all(isinstance(source, str) for source in sources):
        raise must_be(value, "text in CEL, or a list of such texts")
    return tuple(cel.quantity(source) for source in sources)


_PREFIXES = ("", "u", "m", "k", "M")
Sums = Annotated[tuple[cel.Quantity, ...], BeforeValidator(_sums)]
LimitEnd = Annotated[Limit, BeforeValidator(_limit)]


class _WorkedOut(Table):
    known: Sums
    unknown: float


class PackTable(Table):
    """`[pack]`: what the pack is called."""

    name: Name = "pack"
    version: Name = "0"


class RuleLimitTable(Table):
    """A limit of a rule."""

    step: Name
    quantity: Name
    source: Source
    min: LimitEnd | None = None
    max: LimitEnd | None = None

    def built(self) -> RuleLimit:
        """Return the limit."""
        return RuleLimit(
            step=self.step,
            quantity=self.quantity,
            source=self.source,
            low=self.min,
            high=self.max,
        )


class RuleTable(Builds[Rule]):
    """`[[rule]]`."""

    id: Name
    when: Condition
    require: list[Name] = []
    because: Annotated[str, AfterValidator(facts_known)]
    source: Source
    limits: list[RuleLimitTable] = []

    def built(self, file: str) -> Rule:
        """Return the rule."""
        return Rule(
            id=self.id,
            condition=self.when,
            require=tuple(self.require),
            because=self.because,
            source=self.source,
            file=file,
            limits=tuple(limit.built() for limit in self.limits),
        )


class SuspectTable(Builds[Suspect]):
    """`[[suspect]]`: a possible cause."""

    key: Name
    title: Name
    when: Condition
    weight: Positive
    minutes: Positive
    test: Name
    section: str = ""
    more_when: Condition | None = None
    times: Positive = 1.0
    source: Source

    def built(self, file: str) -> Suspect:
        """Return the suspect."""
        return Suspect(
            key=self.key,
            title=self.title,
            condition=self.when,
            weight=self.weight,
            minutes=self.minutes,
            test=self.test,
            section=self.section,
            source=self.source,
            more=self.more_when,
            times=self.times,
        )


class CautionTable(Table):
    """The caution of a step."""

    signal_word: Annotated[str, one_of(SIGNAL_WORDS)]
    text: Name

    def built(self) -> Caution:
        """Return the caution."""
        return Caution(self.signal_word, self.text)


class ReadingTable(Table):
    """A reading of a step; one with a limit needs its source."""

    quantity: Name
    title: str = ""
    unit: str
    source: Source | None = None
    min: LimitEnd | None = None
    max: LimitEnd | None = None
    optional: bool = False
    signed: bool = False
    role: Annotated[ReadingRole, member_of(ReadingRole)] | None = None
    measures: Annotated[str, one_of(MEASURED)] = ""

    @model_validator(mode="after")
    def _limits_have_a_source(self) -> ReadingTable:
        if (self.min or self.max) and not self.source:
            raise ValueError("source is missing.")
        return self

    @model_validator(mode="after")
    def _signed_has_both_ends(self) -> ReadingTable:
        if self.signed and (self.min is None) != (self.max is None):
            there, absent = ("min", "max") if self.max is None else ("max", "min")
            raise ValueError(
                f"{self.quantity} is signed and has {there} alone; give it {absent} as well."
            )
        return self

    @model_validator(mode="after")
    def _measured_in_its_unit(self) -> ReadingTable:
        unit = MEASURED[self.measures][1] if self.measures else ""
        if self.measures and self.unit not in {prefix + unit for prefix in _PREFIXES}:
            raise ValueError(f"{self.quantity} is in {self.unit}; {self.measures} is in {unit}.")
        return self

    def built(self) -> Reading:
        """Return the reading."""
        return Reading(
            quantity=self.quantity,
            title=self.title or self.quantity.replace("_", " "),
            unit=self.unit,
            source=self.source or "",
            low=self.min,
            high=self.max,
            required=not self.optional,
            role=self.role,
            signed=self.signed,
            measures=self.measures,
        )


class PlanTable(Table):
    """The calculation of a step."""

    calculation: Name
    arguments: dict[str, Sums] = {}

    def built(self) -> Plan:
        """Return the plan."""
        return Plan(self.calculation, tuple(self.arguments.items()))


class CardTable(Builds[Card]):
    """`[[card]]`: what a person does in one go."""

    name: Name
    title: Name

    def built(self, file: str) -> Card:
        """Return the card."""
        return Card(self.name, self.title)


class StepTable(Builds[Step]):
    """`[[step]]`."""

    key: Name
    title: Name
    instruction: Name
    phase: Annotated[str, one_of(PHASES)]
    gate: Gate | None = None
    gate_once_opened: Gate | None = None
    hold: bool = False
    after: list[Name] = []
    caution: CautionTable | None = None
    readings: list[ReadingTable] = []
    plan: PlanTable | None = None
    ended_by: Triggers = []
    signed_by: list[PersonRole] = ["owner", "technician"]
    waivable_by: list[PersonRole] = []
    instead: Name | None = None
    not_applicable: bool | None = None  # service steps yes, holds no, unless said
    second_person: bool = False
    needs_power: list[Annotated[str, one_of(POWER)]] = []
    needs_cover: Annotated[str, one_of(COVER)] | None = None
    needs_steps: list[Name] = []
    reaches_in: bool = False
    scope: Annotated[str, one_of(SCOPES)] = "unit"
    clears: list[Name] = []
    source: Source
    role: Annotated[StepRole, member_of(StepRole)] | None = None
    together: Name | None = None
    answers: list[Asked] = []

    def built(self, file: str) -> Step:
        """Return the step."""
        not_said = self.not_applicable is None
        step = Step(
            key=self.key,
            title=self.title,
            instruction=self.instruction,
            phase=self.phase,
            file=file,
            gate=self.gate,
            gate_once_opened=self.gate_once_opened,
            hold=self.hold,
            after=tuple(self.after),
            caution=self.caution.built() if self.caution else None,
            readings=tuple(reading.built() for reading in self.readings),
            plan=self.plan.built() if self.plan else None,
            invalidated_by=tuple(entry.built() for entry in self.ended_by),
            signed_by=tuple(self.signed_by),
            waivable_by=tuple(self.waivable_by),
            instead=self.instead or "",
            not_applicable=not self.hold if not_said else bool(self.not_applicable),
            second_person=self.second_person,
            needs_power=tuple(self.needs_power),
            needs_cover=self.needs_cover or "",
            needs_steps=tuple(self.needs_steps),
            reaches_in=self.reaches_in,
            scope=self.scope,
            clears=tuple(self.clears),
            source=self.source,
            role=self.role,
            together=self.together or "",
            answers=tuple(dict.fromkeys(self.answers)),
        )
        problems = list(checking_packs.step_problems(step))
        if problems:
            raise TableError(problems)
        return step
