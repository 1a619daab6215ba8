"""The closed, typed vocabulary that rule conditions may speak.

A fact that is absent is *not recorded yet*; there are no defaults anywhere.
"""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, TypeAlias

from checklists.engine.quoting import quoted

Value: TypeAlias = str | bool | int | float | list[str]
Facts: TypeAlias = dict[str, Value]
Kind = Literal["string", "bool", "int", "double", "list"]

LONGEST_LIST = 100
_MOST_NAMED = 20
QUOTED_FACT = re.compile(r"\{([a-z._]+)\}")  # a fact in braces, in a sentence of a rule


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """One word of the vocabulary: its type, unit, closed words and bounds."""

    name: str
    kind: Kind
    words: tuple[str, ...] = ()
    unit: str = ""
    low: float = -math.inf
    high: float = math.inf
    # Computed facts come from the job's own record; nobody types them in,
    # and a missing one is never asked for.
    computed: bool = False


def _one_of(name: str, words: str, *, computed: bool = False) -> Fact:
    return Fact(name=name, kind="string", words=tuple(words.split()), computed=computed)


def _some_of(name: str, words: str, *, computed: bool = False) -> Fact:
    return Fact(name=name, kind="list", words=tuple(words.split()), computed=computed)


def _flag(name: str, *, computed: bool = False) -> Fact:
    return Fact(name=name, kind="bool", computed=computed)


def _measure(name: str, unit: str, high: float) -> Fact:
    return Fact(name=name, kind="double", unit=unit, low=0.0, high=high)


VOCABULARY: dict[str, Fact] = {
    fact.name: fact
    for fact in (
        _one_of(
            "unit.kind",
            "power-amplifier integrated-amplifier receiver preamplifier headphone-amplifier"
            " valve-amplifier instrument-combo active-loudspeaker mixer synthesiser turntable"
            " cassette-deck open-reel-deck disc-player tuner bench-supply",
        ),
        _one_of("unit.supply", "linear switch-mode external-adaptor battery transformerless"),
        _one_of(
            "unit.output_stage",
            "none class-a class-ab class-d rail-switching valve-push-pull valve-single-ended",
        ),
        _one_of("unit.protective_class", "I II III"),
        _measure("unit.mains_volts", "V", 500),
        _flag("unit.mains_selector"),
        Fact(name="unit.year", kind="int", low=1900, high=2100),
        _measure("unit.rail_volts", "V", 5000),
        # Between the plus and the minus rail; `rail_volts` is of one reservoir or rail.
        _measure("unit.rail_total_volts", "V", 10_000),
        _measure("unit.reservoir_uf", "uF", 10_000_000),
        _measure("unit.rated_watts", "W", 20_000),
        _measure("unit.rated_load_ohms", "ohm", 10_000),
        # Drawn from the mains at idle.
        _measure("unit.idle_watts", "W", 5000),
        _measure("unit.fuse_amps", "A", 100),
        # Of the service sheet: the emitter resistor, what is read across it, the offset allowed.
        _measure("unit.emitter_ohms", "ohm", 10),
        _measure("unit.bias_millivolts", "mV", 1000),
        _measure("unit.offset_limit_millivolts", "mV", 1000),
        # Of valves: where the bias comes from, and the rated dissipation of one output valve's plate.
        _flag("unit.has_valves"),
        _one_of("unit.valve_bias", "fixed cathode"),
        _measure("unit.plate_watts", "W", 500),
        # Of the mains lead: its conductor decides the limit of the earth.
        _measure("unit.lead_metres", "m", 200),
        _measure("unit.lead_mm2", "mm2", 35),
        _flag("unit.bias_adjustable"),
        _flag("unit.offset_adjustable"),
        _flag("unit.output_relay"),
        _flag("unit.insulated_devices"),
        _flag("unit.live_sinks"),  # heat sinks at a potential by design
        _flag("unit.has_laser"),
        _flag("unit.has_lithium_cell"),
        _flag("unit.moving_parts"),
        _flag("unit.bridged_outputs"),
        _flag("unit.standby_supply"),
        _flag("unit.pfc_bus"),
        _flag("unit.captive_lead"),
        _flag("unit.fan_cooled"),
        _flag("unit.phantom_power"),
        _some_of(
            "complaint.symptoms",
            "no-power no-output delayed-output one-channel intermittent-output distortion hum"
            " noise crackle low-output protection-trips blows-fuse burning-smell dc-thump"
            " mechanical no-display overheats no-complaint eats-tape speed-wrong skips no-read"
            " other",
        ),
        _flag("complaint.intermittent"),
        _some_of("complaint.when", "always cold warm after-minutes knocked loud humid"),
        _some_of(
            "intake.damage",
            "none dented loose-inside liquid burnt-smell cord-damaged fuse-bridged infested",
        ),
        _some_of(
            "findings",
            "electrolytics-aged electrolytic-leaking compound-dry insulator-cracked"
            " relay-contacts-oxidised relay-contacts-abraded joint-cracked control-scratchy"
            " switch-oxidised dust-heavy fuse-blown fuse-wrong resistor-burnt"
            " output-device-shorted insulation-damaged mains-lead-damaged"
            " suppression-capacitor-aged selenium-rectifier valve-weak belt-perished"
            " laser-weak lithium-cell-leaking hazardous-ceramic previous-repair-poor"
            " earth-defeated protection-bridged nickel-cell-leaking resistor-drifted"
            " transistor-faulty socket-worn mechanism-worn wiring-pinched solder-bridge other",
            computed=True,
        ),
        _some_of(
            "work",
            "thermal-interface-renewed insulator-material-changed output-devices-replaced"
            " electrolytics-replaced reservoirs-replaced relay-replaced relay-cleaned"
            " controls-cleaned joints-reflowed fuse-replaced mains-wiring-changed"
            " suppression-capacitor-replaced transformer-replaced bias-parts-replaced"
            " valves-replaced board-removed belt-replaced laser-replaced rectifier-replaced"
            " lithium-cell-replaced firmware-updated idler-replaced pinch-roller-replaced"
            " head-replaced head-aligned socket-replaced resistors-replaced"
            " semiconductors-replaced nickel-cell-replaced protection-restored cleaned adjusted"
            " other",
            computed=True,
        ),
        _one_of(
            "job.stage",
            "received reproducing opened awaiting_parts reassembled soaking released withdrawn",
            computed=True,
        ),
        _one_of("job.power", "isolated limited full", computed=True),
        _one_of("job.cover", "on off", computed=True),
        _flag("job.returned", computed=True),
        # Parts or work beyond what the owner agreed to.
        _flag("job.beyond_agreed", computed=True),
        # Whose limits the shop tests by; a setting of the shop.
        _one_of("shop.practice", "after-repair iec us-service", computed=True),
        # Of the sockets of the shop; a setting of the shop, absent while nobody has set it.
        Fact(name="shop.mains_volts", kind="double", unit="V", low=90, high=260, computed=True),
        # Clean trials that the bench statistics ask for, from the trials on record.
        Fact(name="job.clean_trials_needed", kind="int", low=0, high=100_000, computed=True),
    )
}

FINDINGS = VOCABULARY["findings"].words
WORK = VOCABULARY["work"].words
CONDITIONS = VOCABULARY["complaint.when"].words
# A finding, work or symptom for which the lists have no word: it is told in words beside it.
OTHER = "other"


class FactError(ValueError):
    """A fact that cannot be taken; `problems` holds one sentence for each."""

    def __init__(self, problems: list[tuple[str, str]]) -> None:
        self.problems = problems[:_MOST_NAMED]
        left = len(problems) - len(self.problems)
        if left:
            self.problems.append(("facts", f"And {left} more."))
        super().__init__(" ".join(sentence for _, sentence in self.problems))


def accept(raw: Mapping[str, object]) -> Facts:
    """Return the facts, typed, or raise FactError naming every key that is wrong.

    Whole numbers are taken where a decimal is meant; nothing else is converted.
    """
    facts: Facts = {}
    problems: list[tuple[str, str]] = []
    for name, value in raw.items():
        try:
            facts[name] = accept_one(name, value)
        except FactError as error:
            problems += error.problems
    if problems:
        raise FactError(problems)
    return facts


def accept_one(name: str, value: object) -> Value:
    """Return one value as its declared type, or raise FactError with a sentence."""
    fact = VOCABULARY.get(name)
    if fact is None:
        raise FactError([(name, f"{quoted(name)} is not a fact of the vocabulary.")])
    taken = _READERS[fact.kind](fact, value)
    if taken is None:
        raise FactError([(name, f"{name} is {quoted(value)}; it must be {expected(fact)}.")])
    return taken


def expected(fact: Fact) -> str:
    """Say in words what a fact accepts: 'one of I, II, III' or 'a number of V from 0 to 500'."""
    if fact.kind == "string":
        return "one of " + ", ".join(fact.words)
    if fact.kind == "list":
        return "a list of different words out of " + ", ".join(fact.words)
    if fact.kind == "bool":
        return "true or false"
    what = "a whole number" if fact.kind == "int" else f"a number of {fact.unit}"
    return f"{what} from {fact.low:g} to {fact.high:g}"


def _string(fact: Fact, value: object) -> Value | None:
    return value if isinstance(value, str) and value in fact.words else None


def _bool(fact: Fact, value: object) -> Value | None:
    return value if isinstance(value, bool) else None


def _int(fact: Fact, value: object) -> Value | None:
    whole = isinstance(value, int) and not isinstance(value, bool)
    return value if whole and fact.low <= value <= fact.high else None  # type: ignore[operator,return-value]


def _double(fact: Fact, value: object) -> Value | None:
    # Bounds first: NaN fails every comparison, and a huge int never reaches float().
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value) if fact.low <= value <= fact.high else None


def _list(fact: Fact, value: object) -> Value | None:
    if not isinstance(value, list) or len(value) > LONGEST_LIST:
        return None
    known = all(isinstance(word, str) and word in fact.words for word in value)
    return list(dict.fromkeys(value)) if known else None


_READERS = {"string": _string, "bool": _bool, "int": _int, "double": _double, "list": _list}
