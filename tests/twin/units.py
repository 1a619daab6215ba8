"""Units as they are on the bench: charge, faults, cover, plug, set-up. Physics alone, no rules.

Volts are d.c., resistance is in ohms, capacity in microfarads, time in minutes. A reservoir
decays by V(t) = V0 exp(-t/RC) and is full again as soon as mains is on.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from random import Random

# Above this a touch hurts: IEC 62368-1:2018 Table 4, ES1 60 V d.c. (read second-hand).
TOUCHABLE_VOLTS = 60.0
# What a dielectric gives back after a discharge, as a share: a few per cent, common practice.
GIVEN_BACK = 0.03
# Work on what carries no current, done without opening: the unit draws what it drew before.
NO_CURRENT_THERE = frozenset(
    [
        "belt-replaced",
        "controls-cleaned",
        "firmware-updated",
        "idler-replaced",
        "pinch-roller-replaced",
        "head-aligned",
        "cleaned",
        "lithium-cell-replaced",
    ]
)
ANY_MAINS, UNLIMITED, LEAVING = "limited", "full", "leave"


@dataclass
class Reservoir:
    """One charged capacitor; `ohms` is what drains it, infinite when the bleeder is open."""

    full_volts: float
    microfarads: float
    ohms: float
    volts: float = 0.0

    def decay(self, minutes: float) -> None:
        seconds_rc = self.ohms * self.microfarads * 1e-6
        self.volts *= math.exp(-60.0 * minutes / seconds_rc)

    def charge(self) -> None:
        self.volts = self.full_volts


@dataclass(frozen=True)
class Fault:
    """Something that is truly wrong: how people call it, what cures it, when it is grave."""

    finding: str = ""
    damage: str = ""
    cures: tuple[str, ...] = ()
    grave: tuple[str, ...] = ()
    seen: str = "inside"


_ALL = (ANY_MAINS, UNLIMITED, LEAVING)
_BUT_LIMITED = (UNLIMITED, LEAVING)
FAULTS: dict[str, Fault] = {
    "shorted-output": Fault(
        "output-device-shorted", "", ("output-devices-replaced",), _BUT_LIMITED
    ),
    "wrong-fuse": Fault("fuse-wrong", "", ("fuse-replaced",), _BUT_LIMITED),
    "bridged-fuse": Fault("", "fuse-bridged", ("fuse-replaced",), _BUT_LIMITED, "outside"),
    "damaged-lead": Fault(
        "mains-lead-damaged", "cord-damaged", ("mains-wiring-changed",), _ALL, "outside"
    ),
    "damaged-insulation": Fault("insulation-damaged", "", ("mains-wiring-changed",), _ALL),
    "cracked-insulator": Fault("insulator-cracked", "", ("insulator-material-changed",), _ALL),
    "aged-y-capacitor": Fault(
        "suppression-capacitor-aged", "", ("suppression-capacitor-replaced",), _BUT_LIMITED
    ),
    "wet-board": Fault("", "liquid", (), _ALL, "outside"),
    "loose-screw": Fault("", "loose-inside", (), _ALL, "outside"),
    "no-negative-bias": Fault("", "", ("bias-parts-replaced",), (UNLIMITED,), "meter"),
    # What the complaint is about; it hurts nobody.
    "dry-joint": Fault("joint-cracked", "", ("joints-reflowed",)),
    "aged-electrolytics": Fault("electrolytics-aged", "", ("electrolytics-replaced",)),
    "scratchy-control": Fault("control-scratchy", "", ("controls-cleaned",)),
    "dirty-relay": Fault("relay-contacts-oxidised", "", ("relay-replaced",)),
    "weak-valve": Fault("valve-weak", "", ("valves-replaced",)),
    "perished-belt": Fault("belt-perished", "", ("belt-replaced",), (), "outside"),
    "weak-laser": Fault("laser-weak", "", ("laser-replaced",)),
    # Made by work, shown by looking and measuring before mains.
    "solder-short": Fault("", "", ("joints-reflowed",), (UNLIMITED,), "meter"),
    "reversed-electrolytic": Fault("", "", (), (UNLIMITED,), "meter"),
    # Made on closing, shown by tests of the closed unit.
    "pinched-wire": Fault("", "", (), (LEAVING,), "meter"),
    "earth-left-off": Fault("", "", (), (LEAVING,), "meter"),
}
SLIPS_OF_WORK = ("solder-short", "reversed-electrolytic")
MADE_ON_CLOSING = ("pinched-wire", "earth-left-off")


@dataclass(frozen=True)
class Kind:
    """A kind of unit: its plate, its reservoirs (volts, microfarads, bleeder ohms), its faults."""

    facts: dict[str, object]
    reservoirs: tuple[tuple[float, float, float], ...]
    faults: tuple[str, ...]
    fuse_outside: bool = True
    belt_outside: bool = False
    # What an ohmmeter finds from the outputs to the chassis when nothing is wrong.
    output_ohms: float = 300.0
    bias_millivolts: float = 26.0


def _plate(kind: str, supply: str, stage: str, safety: str, rail: float, watts: float) -> dict:
    return {
        "unit.kind": kind,
        "unit.supply": supply,
        "unit.output_stage": stage,
        "unit.protective_class": safety,
        "unit.rail_volts": rail,
        "unit.rated_watts": watts,
        "unit.mains_volts": 230.0,
        "unit.fuse_amps": 2.0,
        "unit.bias_adjustable": stage in ("class-a", "class-ab", "valve-push-pull"),
        "unit.output_relay": stage == "class-ab",
        "unit.has_laser": kind == "disc-player",
        "unit.pfc_bus": supply == "switch-mode" and rail >= 390,
        "intake.damage": ["none"],
        "complaint.intermittent": False,
    }


_MAINS = ("wrong-fuse", "damaged-lead", "damaged-insulation", "aged-y-capacitor", "loose-screw")
_BOARD = ("dry-joint", "aged-electrolytics", "wet-board")
_POWER = ("shorted-output", "cracked-insulator", "dirty-relay", "scratchy-control")
_VALVES = ("weak-valve", "no-negative-bias", "scratchy-control", "bridged-fuse")
KINDS: dict[str, Kind] = {
    "valve-combo": Kind(
        _plate("instrument-combo", "linear", "valve-push-pull", "I", 450.0, 30.0),
        ((450.0, 100.0, 220e3), (430.0, 47.0, 220e3)),
        _MAINS + _BOARD + _VALVES,
        output_ohms=0.8,  # the winding of the output transformer
    ),
    "split-rail-amplifier": Kind(
        _plate("integrated-amplifier", "linear", "class-ab", "I", 45.0, 100.0),
        ((45.0, 10_000.0, 2200.0), (-45.0, 10_000.0, 2200.0)),
        _MAINS + _BOARD + _POWER,
        fuse_outside=False,
    ),
    "active-loudspeaker": Kind(
        _plate("active-loudspeaker", "switch-mode", "class-d", "II", 36.0, 120.0),
        ((325.0, 220.0, 330e3), (36.0, 2200.0, 4700.0)),
        _MAINS + _BOARD + ("shorted-output",),
        fuse_outside=False,
    ),
    "corrected-amplifier": Kind(
        _plate("power-amplifier", "switch-mode", "rail-switching", "I", 400.0, 800.0),
        ((400.0, 470.0, 470e3), (90.0, 4700.0, 10e3), (-90.0, 4700.0, 10e3)),
        _MAINS + _BOARD + _POWER,
    ),
    "transformerless-set": Kind(
        _plate("receiver", "transformerless", "valve-single-ended", "II", 300.0, 4.0),
        ((300.0, 100.0, 100e3),),
        _MAINS + _BOARD + ("weak-valve",),
        output_ohms=0.8,
    ),
    "adaptor-headphones": Kind(
        _plate("headphone-amplifier", "external-adaptor", "class-ab", "III", 12.0, 1.0),
        ((12.0, 470.0, 1000.0),),
        (*_BOARD, "scratchy-control"),
    ),
    "turntable": Kind(
        _plate("turntable", "linear", "none", "II", 24.0, 10.0),
        ((24.0, 1000.0, 10e3),),
        ("damaged-lead", "wrong-fuse", "perished-belt", "dry-joint"),
        belt_outside=True,
    ),
    "disc-player": Kind(
        _plate("disc-player", "linear", "none", "II", 12.0, 15.0),
        ((12.0, 4700.0, 1000.0), (-12.0, 4700.0, 1000.0)),
        ("damaged-lead", "aged-y-capacitor", "weak-laser", "dry-joint", "loose-screw"),
    ),
    "class-a-amplifier": Kind(
        _plate("power-amplifier", "linear", "class-a", "I", 34.0, 25.0),
        ((34.0, 40_000.0, 1500.0), (-34.0, 40_000.0, 1500.0)),
        _MAINS + _BOARD + _POWER,
        bias_millivolts=430.0,  # 1.3 A through 0.33 ohm
    ),
}


@dataclass
class Unit:
    """One unit as it stands there. What the shop believes of it is elsewhere."""

    name: str
    kind: Kind
    reservoirs: list[Reservoir]
    faults: set[str]
    serial: str = ""
    cover: str = "on"
    power: str = "isolated"
    # Nobody has proved it dead since mains was last on.
    proved_dead: bool = False
    # Not tried on the limiter since it came or since work on it.
    untried: bool = True
    limiter: bool = False
    isolating_transformer: bool = False
    load: bool = False
    bias_wild: bool = False
    unusable: bool = False
    tagged: bool = False
    trials: int = 0
    # What the shop has been told of, by finding, damage or failed test.
    told: set[str] = field(default_factory=set)

    @classmethod
    def drawn(cls, rng: Random, name: str, serial: str) -> Unit:
        """Draw one as it comes over the counter: some bleeders open, switched off a while ago."""
        kind = KINDS[name]
        caps = [
            Reservoir(volts, farads, math.inf if rng.random() < 0.3 else ohms)
            for volts, farads, ohms in kind.reservoirs
        ]
        few = rng.choice((0, 1, 1, 1, 2, 2, 3))
        unit = cls(name, kind, caps, set(rng.sample(kind.faults, min(few, len(kind.faults)))))
        unit.serial = serial
        unit.used_elsewhere(rng)
        return unit

    def used_elsewhere(self, rng: Random) -> None:
        """It was plugged in somewhere and carried here; all that was set up on a bench is gone."""
        if not self.unusable:
            self.charge()
        self.pass_time(rng.choice((2.0, 20.0, 200.0, 3000.0)))
        self.proved_dead, self.untried = False, True
        self.clear_bench()

    # What it is now

    @property
    def low_voltage(self) -> bool:
        """Class III: it holds nothing that hurts, and meets no mains."""
        return self.kind.facts["unit.protective_class"] == "III"

    @property
    def valves(self) -> bool:
        return str(self.kind.facts["unit.output_stage"]).startswith("valve")

    @property
    def transformerless(self) -> bool:
        return self.kind.facts["unit.supply"] == "transformerless"

    @property
    def highest_volts(self) -> float:
        """The most that two hands can bridge: one reservoir, or plus to minus rail."""
        volts = [r.volts for r in self.reservoirs]
        return max(*map(abs, volts), max(volts) - min(*volts, 0.0), 0.0)

    @property
    def made_on_closing(self) -> set[str]:
        return self.faults & set(MADE_ON_CLOSING)

    def visible(self) -> set[str]:
        """Faults that eyes find now; a meter's faults are found by steps."""
        looks = {"outside", "inside"} if self.cover == "off" else {"outside"}
        return {name for name in self.faults if FAULTS[name].seen in looks}

    def known_grave(self, when: str) -> set[str]:
        """Faults that are there, that the shop was told of, and that are grave in this."""
        return {f for f in self.faults & self.told if when in FAULTS[f].grave}

    # What happens to it

    def rid_of(self, mended: Iterable[str]) -> None:
        """Faults go, and what was told of them: the same fault another day is a new one."""
        gone = set(mended)
        self.faults -= gone
        self.told -= gone

    def charge(self) -> None:
        for reservoir in self.reservoirs:
            reservoir.charge()

    def pass_time(self, minutes: float) -> None:
        for reservoir in self.reservoirs:
            reservoir.charge() if self.power != "isolated" else reservoir.decay(minutes)

    def mains_on(self, to: str) -> None:
        """Mains arrives; through the limiter when one is in the line, which comes out at full."""
        self.power, self.proved_dead, self.unusable = to, False, False
        self.charge()
        self.untried = False
        self.trials += self.limiter
        if to == "full":
            self.limiter = False

    def plug_out(self) -> None:
        self.power = "isolated"

    def open(self) -> None:
        """Turned over and opened: loads and loose leads come off."""
        self.cover, self.load = "off", False
        self.rid_of(MADE_ON_CLOSING)

    def close(self, rng: Random) -> None:
        """Close it; now and then a wire is caught or an earth is left off."""
        self.cover = "on"
        if not self.low_voltage and rng.random() < 0.12:
            self.faults.add("pinched-wire")
        if self.kind.facts["unit.protective_class"] == "I" and rng.random() < 0.05:
            self.faults.add("earth-left-off")

    def worked_on(self, work: str, rng: Random, *, outside: bool = False) -> None:
        """Work cures what it cures, wants a trial on the limiter, and slips now and then."""
        self.untried |= not (outside and work in NO_CURRENT_THERE)
        self.unusable = False
        self.rid_of(f for f in set(self.faults) if work in FAULTS[f].cures)
        if work in ("output-devices-replaced", "bias-parts-replaced"):
            self.bias_wild = bool(self.kind.facts["unit.bias_adjustable"])
        if work in ("joints-reflowed", "board-removed", "relay-replaced") and rng.random() < 0.06:
            self.faults.add("solder-short")
        if work in ("electrolytics-replaced", "reservoirs-replaced") and rng.random() < 0.1:
            self.faults.add("reversed-electrolytic")

    def discharge(self) -> None:
        """A resistor across every reservoir; the dielectric gives some back."""
        for reservoir in self.reservoirs:
            reservoir.volts *= GIVEN_BACK if self.power == "isolated" else 1.0

    def clear_bench(self) -> None:
        """Limiter, isolating transformer and load serve another unit now."""
        self.limiter = self.isolating_transformer = self.load = False
