"""Reads the events of a history that somebody wrote down: facts and events as JSON or TOML.

An event is `{kind, at?, data?}`; what is in `data` may as well stand beside `kind`. `sign_all`
stands for every step that can honestly be done at that moment, but for the keys in `except`.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from typing import Annotated, Any

from pydantic import BeforeValidator

from checklists.engine.judging import RESULTS
from checklists.engine.strict_tables import Table, TableError, is_table, must_be, one_of, taken
from checklists.engine.vocabulary import FINDINGS, VOCABULARY, WORK, FactError, Facts, accept
from checklists.engine.words import EVENTS, FULL, LIMITED

SIGN_ALL = "sign_all"
STARTS_AT = datetime(2026, 3, 2, 8, tzinfo=UTC)
_A_WHILE = timedelta(minutes=1)
# Words of the file that are none of Python.
_NAMES = {"except": "but"}
# What a stored row may hold beside, which changes nothing here.
_BESIDE = """
about amount answer arrived_open asked because bill bin caption carried carrier change changes
channel clean_trials conditions credit currency curve evidence fault from from_stock gates instead
into make minutes model need needs new_spec note of off_minutes on on_minutes order pack part photo
proof proved quantity readings reason reasons required returned_from round serial sha256 source spec
substance suspect text title total tracking trials unit version was way why x x_unit y y_unit
"""
BESIDE = frozenset(_BESIDE.split())
_NEEDED = {
    "step_signed": ("step", "result"),
    "step_waived": ("step",),
    "work_done": ("work",),
    "finding_recorded": ("finding",),
    "fact_recorded": ("name", "value"),
    "power_applied": ("power",),
    "stage_changed": ("to",),
    "soak_ended": ("result",),
    "entry_withdrawn": ("row",),
}


class HistoryError(ValueError):
    """A history that cannot be read; `problems` holds one sentence for each fault."""

    def __init__(self, problems: list[str]) -> None:
        self.problems = problems
        super().__init__("\n".join(problems))


def _moment(value: object) -> datetime:
    moment = value if isinstance(value, datetime) else None
    if isinstance(value, str):
        try:
            moment = datetime.fromisoformat(value)
        except ValueError:
            moment = None
    if moment is None:
        raise must_be(value, "a moment like 2026-03-02T10:00:00+01:00")
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)


Moment = Annotated[datetime, BeforeValidator(_moment)]


class Happening(Table):
    """One event as it is written down. Who wrote it and what it cost do not matter here."""

    kind: Annotated[str, one_of((*EVENTS, SIGN_ALL))]
    at: Moment | None = None
    power: Annotated[str, one_of((LIMITED, FULL))] = ""
    step: str = ""
    result: Annotated[str, one_of(RESULTS)] = ""
    work: Annotated[str, one_of(WORK)] = ""
    finding: Annotated[str, one_of(FINDINGS)] = ""
    section: str = ""
    name: Annotated[str, one_of(VOCABULARY)] = ""
    value: Any = None
    to: Annotated[str, one_of(VOCABULARY["job.stage"].words)] = ""
    row: int = 0
    # The event, by number, that a waiver after a fail rests on.
    look: int = 0
    # A unit that arrived without its cover.
    open: bool = False
    late: str = ""
    done_at: Moment | None = None
    before: bool = False
    from_outside: bool = False
    board_out: bool = False
    but: list[str] = []

    def raw(self) -> dict[str, Any]:
        """Return it as it is written down."""
        given = self.model_dump(mode="json", exclude_defaults=True)
        return {"except" if name == "but" else name: value for name, value in given.items()}

    def sentence(self) -> str:
        """Say it in words: 'power applied (limited)'."""
        words = (self.power, self.work, self.finding, self.step, self.result, self.name, self.to)
        marks = [m for m in ("open", "before", "from_outside", "board_out") if getattr(self, m)]
        said = [*filter(None, (*words, self.section, self.late and "told late")), *marks]
        said += [f"row {self.row}"] if self.row else []
        if self.name:
            said.append(str(self.value))
        detail = f" ({', '.join(said)})" if said else ""
        return (self.kind.replace("_", " ") + detail.replace("_", " ")).capitalize()


def read(history: object) -> tuple[Facts, list[Happening]]:
    """Return the facts and the events; HistoryError lists every fault."""
    if not is_table(history):
        raise HistoryError(["A history is a table with facts and events."])
    problems = [f"{key} is not known here; use facts, events." for key in _strays(history)]
    facts = _facts(history.get("facts", {}), problems)  # type: ignore[attr-defined]
    events = _events(history.get("events"), problems)  # type: ignore[attr-defined]
    if problems:
        raise HistoryError(problems)
    return facts, events


def _strays(history: Any) -> list[str]:
    return sorted(map(str, history.keys() - {"facts", "events"}))


def _facts(given: object, problems: list[str]) -> Facts:
    if not is_table(given):
        problems.append("facts is no table.")
        return {}
    try:
        return accept(given)  # type: ignore[arg-type]
    except FactError as error:
        problems += [sentence for _, sentence in error.problems]
        return {}


def _events(given: object, problems: list[str]) -> list[Happening]:
    if not isinstance(given, list):
        problems.append("events is missing; it is a list.")
        return []
    events: list[Happening] = []
    clock = STARTS_AT
    for place, entry in enumerate(given, 1):
        try:
            event = _event(entry)
        except TableError as error:
            problems += [f"Event {place}: {problem}" for problem in error.problems]
            continue
        clock = event.at or (clock + _A_WHILE if events else clock)
        events.append(event.model_copy(update={"at": clock}))
    return events


def _event(entry: object) -> Happening:
    event = taken(Happening, _flat(entry))
    absent = [n for n in _NEEDED.get(event.kind, ()) if getattr(event, n) in ("", None, 0)]
    problems = [f"{name} is missing." for name in absent]
    if bool(event.late) != bool(event.done_at):
        problems.append("A late entry needs late (why) and done_at (when).")
    if event.kind == "fact_recorded" and not absent:
        problems += _value_problems(event)
    if problems:
        raise TableError(problems)
    return event


def _value_problems(event: Happening) -> list[str]:
    try:
        accept({event.name: event.value})
    except FactError as error:
        return [sentence for _, sentence in error.problems]
    if VOCABULARY[event.name].computed:
        return [f"{event.name} follows from the record; it is not typed in."]
    return []


def _flat(entry: object) -> object:
    """Return an event with its data beside its kind; of stored data only what matters here."""
    if not is_table(entry) or not isinstance(entry.get("data", {}), Mapping):  # type: ignore[attr-defined]
        return entry
    data = _named(entry.get("data", {}))  # type: ignore[attr-defined]
    known = Happening.model_fields
    strays = sorted(str(key) for key in data if key not in known and key not in BESIDE)
    if strays:
        raise TableError([f"{key} in data is not known here." for key in strays])
    matters = {key: value for key, value in data.items() if key in known}
    return {**matters, **{k: v for k, v in _named(entry).items() if k != "data"}}  # type: ignore[arg-type]


def _named(entry: Mapping[Any, Any]) -> dict[Any, Any]:
    return {_NAMES.get(key, key): value for key, value in entry.items()}
