"""The JSON that goes in and out."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Any, Literal

from ninja import Schema
from pydantic import AliasChoices, BaseModel, ConfigDict, Field, GetJsonSchemaHandler, create_model
from pydantic_core import CoreSchema, core_schema

from checklists.engine import hazards, judging
from checklists.engine.checklist import Checklist
from checklists.engine.hazards import Armed
from checklists.engine.words import EXPOSURES
from shop.api import words
from shop.jobs import events, queries
from shop.jobs.events.base import Event
from shop.jobs.models import Job
from shop.jobs.warranty import Return, return_of


class Strict(Schema):
    """A body in which an unknown key is an error that names it."""

    model_config = ConfigDict(extra="forbid")


class UnitIn(Strict):
    """What the rating plate says."""

    make: str = ""
    model: str = ""
    serial: str = ""


class ComplaintIn(Strict):
    """What the customer says."""

    text: str = ""


class CustomerIn(Strict):
    """Whose unit it is."""

    name: str = ""
    email: str = ""


class NewCustomerIn(CustomerIn):
    """Whose unit it is that comes in, and what they read: en, de, ...; empty is what is usual."""

    language: str = ""


class JobIn(Strict):
    """A unit that comes in."""

    unit: UnitIn
    facts: words.Facts = {}
    complaint: ComplaintIn | None = None
    # The contract of the API calls the customer `owner`; both are read.
    customer: NewCustomerIn | None = Field(None, validation_alias=AliasChoices("owner", "customer"))
    reference: str = ""
    # It came without its cover.
    arrived_open: bool = False
    # Write it to the job that the unit has open, if it has one.
    join: bool = False


class UnitCorrectionIn(Strict):
    """The name of a unit as it should be; what is left out stays."""

    make: str | None = None
    model: str | None = None
    serial: str | None = None


class ArrivalIn(Strict):
    """How a unit came; what is left out stays."""

    came_by: str | None = None
    parcel: str | None = None
    accessories: str | None = None


class IntakeCorrectionIn(Strict):
    """What was taken down wrongly at intake; what is left out stays."""

    unit: UnitCorrectionIn | None = None
    complaint: ComplaintIn | None = None
    customer: CustomerIn | None = Field(None, validation_alias=AliasChoices("owner", "customer"))
    arrival: ArrivalIn | None = None


class JoinIn(Strict):
    """The open job of the same unit that goes on."""

    into: int = Field(ge=1, lt=2**63)


class ReadingIn(Strict):
    """A measured value in the unit that the step shows."""

    quantity: str
    value: Any


class AnswerIn(Strict):
    """A fact that the step asks for, with what was seen."""

    fact: words.FactName
    value: Any


class SignIn(Strict):
    """A sign-off. A pass needs an answer to each of the step's `answers`. `substance` (the step's content hash) and `seen` (newest ledger row the signer saw) are optional guards. `instruments`: the number of an instrument by what it measures (`measures` of a reading); what it may be off by counts against the reading."""

    result: words.ResultWord
    readings: list[ReadingIn] = Field([], max_length=judging.MOST_READINGS)
    answers: list[AnswerIn] = Field([], max_length=judging.MOST_READINGS)
    note: str = ""
    substance: str = ""
    seen: int | None = None
    instruments: dict[str, Annotated[int, Field(ge=1, lt=2**63)]] = Field({}, max_length=20)


class WaiveIn(Strict):
    """A waiver. When the step failed, `look` is the row of the new look that it rests on."""

    reason: str
    look: int | None = Field(None, ge=1, le=10**9)


class PowerIn(Strict):
    """The power that the unit is to have. `seen` (newest ledger row when mains off was said) binds it to the mains of then: 409 when another has come on since."""

    to: words.PowerWord
    seen: int | None = None


class CoverIn(Strict):
    """Where the cover is to be."""

    to: words.CoverWord


class StageIn(Strict):
    """The stage that the job is to have."""

    to: words.StageWord


class RowIn(Strict):
    """A row for the ledger: its `kind`, and the data that this kind has.

    The command reads the data and says what is wrong with it; here each kind is described. `seen`
    (newest ledger row when it was typed) is optional: 409 when there are newer ones.
    """

    kind: str
    data: dict[str, Any] = {}
    seen: int | None = None

    @classmethod
    def __get_pydantic_json_schema__(
        cls, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> dict[str, Any]:
        """Return one schema for each kind that people write, told apart by `kind`."""
        kinds = {event.event_type: _row_of(event) for event in events.written_by_people()}
        schemas = {kind: row.__pydantic_core_schema__ for kind, row in kinds.items()}
        return handler(core_schema.tagged_union_schema(dict(schemas), "kind"))


def _row_of(event: type[Event]) -> type[BaseModel]:
    """Return a body whose kind is this type of event; data may be left out where none is needed."""
    needed = any(field.is_required() for field in event.model_fields.values())
    return create_model(
        f"{event.__name__}Row",
        __doc__=event.__doc__,
        kind=(Literal[event.event_type], ...),  # type: ignore[arg-type]
        data=(event, ... if needed else Field(default_factory=event)),
        seen=(int | None, None),
    )


class Reason(Schema):
    """A refusal: one sentence."""

    reason: str


class Unmet(Schema):
    """A hold step in the way."""

    key: str
    title: str
    state: str
    why: str


class Refusal409(Reason):
    """A move that is not made, with the hold steps in the way."""

    unmet: list[Unmet]
    codes: list[str]


class Problem(Schema):
    """One field that is wrong."""

    field: str
    sentence: str


class Refusal422(Reason):
    """Input that cannot be taken."""

    problems: list[Problem] = []


# What an endpoint that writes may answer besides its result.
REFUSALS = {403: Reason, 404: Reason, 409: Refusal409, 422: Refusal422}


class UnitOut(Schema):
    """The unit."""

    make: str
    model: str
    serial: str


class ComplaintOut(Schema):
    """The complaint."""

    text: str


class NextStep(Schema):
    """The step to do next."""

    key: str
    title: str


class JobOut(Schema):
    """A job as lists and commands return it."""

    number: int
    stage: words.StageWord
    power: words.PowerWord
    cover: words.CoverWord
    waiting_on: words.WaitingWord
    unit: UnitOut
    complaint: ComplaintOut
    reference: str | None
    returned_from: int | None = Field(validation_alias="returned_from_id")
    received_at: datetime
    stage_since: datetime
    due_at: datetime | None
    closed_at: datetime | None
    unplug_due: bool
    holds_open: int
    next_step: NextStep | None

    @staticmethod
    def resolve_waiting_on(job: Job) -> str:
        """Return what it waits on by now, where the job came from `queries.jobs`."""
        waiting: str = getattr(job, "waiting", job.waiting_on)
        return waiting

    @staticmethod
    def resolve_complaint(job: Job) -> dict[str, str]:
        """Return the complaint as an object, which facts may join one day."""
        return {"text": job.complaint}

    @staticmethod
    def resolve_next_step(job: Job) -> dict[str, str] | None:
        """Return the step to do next, if any is left."""
        return {"key": job.next_step, "title": job.next_title} if job.next_step else None


class HazardOut(Schema):
    """Something of the unit or its set-up that can hurt now, and where it would."""

    key: str
    title: str
    meets: list[str]


class WarrantyOut(Schema):
    """The warranty on the repair that a unit comes back from: its last day, and whether it is within."""

    until: date
    within: bool


class JobWithFacts(JobOut):
    """One job with all that is known of it, the hazards that are up, and the warranty of a return."""

    facts: dict[str, Any]
    hazards: list[HazardOut]
    warranty: WarrantyOut | None

    @staticmethod
    def resolve_warranty(job: Job) -> Return | None:
        """Return the warranty that a unit comes back under; None for a first visit."""
        return return_of(job)

    @staticmethod
    def resolve_facts(job: Job) -> dict[str, Any]:
        """Read the facts from the ledger."""
        return dict(queries.record_of(job).facts)

    @staticmethod
    def resolve_hazards(job: Job) -> list[dict[str, Any]]:
        """Return what is up, in the order of the pack's table."""
        checklist = queries.Traveller.of(job).checklist
        return [_hazard_out(one, checklist) for one in checklist.up]


def _hazard_out(one: Armed, checklist: Checklist) -> dict[str, Any]:
    hazard, met = one.hazard, hazards.met(one, checklist)
    meets = [exposure for exposure in EXPOSURES if exposure in met]
    return {"key": hazard.key, "title": hazard.title, "meets": meets}


class RowOut(Schema):
    """A row of the ledger."""

    sequence: int
    kind: str = Field(validation_alias="event_type")
    at: datetime
    by: str = Field(validation_alias="by_name")
    data: dict[str, Any]
    previous: str
    hash: str


# The empty word stands for "any", so that a form can send every filter it has.
StageWord = Literal[
    "",
    "received",
    "reproducing",
    "opened",
    "awaiting_parts",
    "reassembled",
    "soaking",
    "released",
    "withdrawn",
]
PowerWord = Literal["", "isolated", "limited", "full"]
WaitingWord = Literal["", "hands", "owner", "parts", "soak-clock", "nobody"]
