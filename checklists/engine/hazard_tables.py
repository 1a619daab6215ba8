"""The tables of hazards, and of the events that raise them or end a sign-off."""

from __future__ import annotations

from typing import Annotated

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from checklists.engine.field_types import Condition, Name, Source, facts_known
from checklists.engine.hazards import Hazard
from checklists.engine.history import Trigger
from checklists.engine.strict_tables import Builds, Table, one_of
from checklists.engine.vocabulary import FINDINGS, VOCABULARY, WORK
from checklists.engine.words import EVENTS, EXPOSURES, POWER


def _named(entry: object) -> object:
    """An event alone stands for a table with nothing but the event."""
    return {"event": entry} if isinstance(entry, str) else entry


class TriggerTable(Table):
    """One entry of `ended_by`."""

    event: Annotated[str, one_of(EVENTS)]
    work: list[Annotated[str, one_of(WORK)]] = []
    finding: list[Annotated[str, one_of(FINDINGS)]] = []
    section: list[str] = []
    except_section: list[str] = []
    fact: Annotated[str, one_of(tuple(VOCABULARY))] | None = None
    values: list[str] = []
    power: list[Annotated[str, one_of(POWER)]] = []
    stage: list[Annotated[str, one_of(VOCABULARY["job.stage"].words)]] = []
    inside: bool = False

    @model_validator(mode="after")
    def _values_are_of_a_fact(self) -> TriggerTable:
        if self.values and self.fact is None:
            raise ValueError("values belong to a fact; name it: fact = 'intake.damage'.")
        return self

    def built(self) -> Trigger:
        """Return the trigger."""
        return Trigger(
            event_type=self.event,
            work=frozenset(self.work),
            finding=frozenset(self.finding),
            section=frozenset(self.section),
            except_section=frozenset(self.except_section),
            fact=self.fact or "",
            values=frozenset(self.values),
            power=frozenset(self.power),
            stage=frozenset(self.stage),
            inside=self.inside,
        )


Triggers = list[Annotated[TriggerTable, BeforeValidator(_named)]]


Exposure = Annotated[str, one_of(tuple(EXPOSURES))]


class HazardTable(Builds[Hazard]):
    """`[[hazard]]`: what can hurt, from what raises it to what clears it."""

    key: Name
    title: Name
    because: Annotated[str, AfterValidator(facts_known)]
    source: Source
    possible: Condition
    on_arrival: bool = False
    raised_by: Triggers = []
    cleared_by: Annotated[list[Name], Field(min_length=1)]
    any_clears: bool = False
    meets: Annotated[list[Exposure], Field(min_length=1)]
    meets_failed: list[Exposure] = []

    @model_validator(mode="after")
    def _comes_up_somehow(self) -> HazardTable:
        if not (self.on_arrival or self.raised_by):
            raise ValueError("it is never up; give it on_arrival = true, or raised_by.")
        return self

    def built(self, file: str) -> Hazard:
        """Return the hazard."""
        return Hazard(
            key=self.key,
            title=self.title,
            because=self.because,
            source=self.source,
            file=file,
            possible=self.possible,
            on_arrival=self.on_arrival,
            raised_by=tuple(entry.built() for entry in self.raised_by),
            cleared_by=tuple(self.cleared_by),
            any_clears=self.any_clears,
            meets=frozenset(self.meets),
            meets_failed=frozenset(self.meets_failed),
        )
