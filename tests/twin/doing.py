"""What hands do when they sign a step, by what its instruction means. Only here step keys are known."""

from __future__ import annotations

from dataclasses import dataclass, replace

from tests.twin.units import Unit

_OFF = ("isolated",)
_ON = ("limited", "full")


@dataclass(frozen=True)
class Doing:
    """The state in which it can be done, what it does, which faults it shows and which it mends.

    `probe`: by insulated probe, no hand in; `lift`: with the cover lifted for it, while the shop
    still asks for it before the cover comes off. `hands`: hands go in.
    """

    power: tuple[str, ...] = ()
    cover: str = ""
    probe: bool = False
    lift: bool = False
    hands: bool = False
    does: str = ""
    shows: tuple[str, ...] = ()
    mends: tuple[str, ...] = ()
    minutes: float = 3.0
    # Signed from the soak that ran, not before it.
    soaked: bool = False


ANYTHING = LOOK = Doing()
_INSIDE = Doing(_OFF, "off", hands=True)
_OUTLET = Doing(_OFF)
_PLAYS = Doing(("full",), "on", minutes=15)

DOING: dict[str, Doing] = {
    # At the counter and before mains
    "fuse-check": Doing(_OFF, does="look_at_fuse"),
    "adaptor-output": _OUTLET,
    "battery-out": _OUTLET,
    "limiter-first-power": Doing(_OFF, does="fit_limiter"),
    "hot-chassis": Doing(_OFF, does="fit_isolating_transformer"),
    "valve-load-connected": Doing(_OFF, does="connect_load"),
    "no-power-before-look-inside": Doing(
        _OFF, "off", hands=True, mends=("wet-board",), minutes=1500
    ),
    "loose-part-found": Doing(_OFF, "off", hands=True, mends=("loose-screw",)),
    "mains-entry-sound": Doing(_OFF, mends=("damaged-lead", "bridged-fuse"), minutes=20),
    "lead-replaced": Doing(_OFF, mends=("damaged-lead",), minutes=20),
    "right-fuse-fitted": Doing(_OFF, mends=("wrong-fuse", "bridged-fuse")),
    "insulation-made-good": Doing(_OFF, mends=("damaged-insulation",), minutes=20),
    "washed-and-dried": Doing(_OFF, "off", hands=True, mends=("wet-board",), minutes=1500),
    # Opening
    "unplugged-lead-in-sight": _OUTLET,
    "discharge-reservoirs": Doing(_OFF, "off", probe=True, lift=True, does="discharge"),
    "switch-mode-primary": Doing(_OFF, "off", probe=True, lift=True, does="discharge"),
    "verify-dead": Doing(_OFF, "off", probe=True, lift=True, does="prove_dead"),
    # Inside, dead
    "shorts-before-power": Doing(_OFF, "off", hands=True, shows=("solder-short", "shorted-output")),
    "insulator-isolation": Doing(_OFF, "off", hands=True, shows=("cracked-insulator",)),
    "insulator-renewed": Doing(_OFF, "off", hands=True, mends=("cracked-insulator",)),
    "suppression-class": Doing(_OFF, "off", hands=True, shows=("aged-y-capacitor",)),
    "electrolytic-polarity": Doing(_OFF, "off", hands=True, mends=("reversed-electrolytic",)),
    "solder-bridges": Doing(_OFF, "off", hands=True, mends=("solder-short",)),
    "bias-to-minimum": Doing(_OFF, "off", hands=True, does="bias_down"),
    **dict.fromkeys(
        [
            "mains-wiring",
            "transformer-phasing",
            "connectors-back",
            "rectifier-way-round",
            "start-up-parts",
            "captive-lead-strain",
            "suppression-plan",
            "device-seating",
            "dust-out",
            "live-measuring",
            "leak-cleaned",
            "burnt-resistor-cause",
            "lithium-leak",
            "char-cut-out",
            "joint-neighbours",
            "switch-worked",
            "driver-stage-too",
            "belt-tar-off",
            "pad-without-compound",
            "laser-link",
        ],
        _INSIDE,
    ),
    # By warm air and the nose, at the vents when it was closed over it.
    "solvent-dried": Doing(_OFF, minutes=30),
    # With mains on
    "negative-bias-present": Doing(("limited",), shows=("no-negative-bias",)),
    "limited-idle-current": Doing(
        ("limited",), shows=("solder-short", "shorted-output", "reversed-electrolytic")
    ),
    "dc-offset": Doing(_ON, shows=("shorted-output",)),
    "headphone-dc": Doing(_ON),
    "bias-set-hot": Doing(("full",), does="bias_set", minutes=40),
    "valve-bias": Doing(("full",), minutes=20),
    "reproduce-complaint": Doing(_ON),
    # Closed
    "soak-place": Doing((), "on"),
    "soak-run": Doing(soaked=True),
    "touch-current": Doing(
        ("full",), "on", shows=("pinched-wire", "damaged-insulation", "aged-y-capacitor")
    ),
    # Before the first mains after mains work, open; before it leaves, closed. What closing does
    # is there to be measured only then.
    "earth-continuity": Doing(_OFF, shows=("earth-left-off", "damaged-lead")),
    "insulation-resistance": Doing(_OFF, shows=("pinched-wire", "damaged-insulation", "wet-board")),
    "us-cold-check": Doing(_OFF, "on", shows=("pinched-wire", "damaged-insulation")),
    "full-function": _PLAYS,
    "covers-and-labels": Doing(_OFF, "on"),
    "hand-back-closed": Doing(_OFF, "on", does="make_unusable"),
    "hand-back-warned": Doing(does="tag"),
}
# A reading that one of these faults takes out of any limit, with its value then.
FAULTY: dict[str, dict[str, float]] = {
    "lowest_ohms": {"solder-short": 0.2, "shorted-output": 0.5},
    "output_ohms": {"shorted-output": 0.5},
    "limiter_percent": {"solder-short": 100.0, "shorted-output": 90.0},
    "conductor_milliamps": {"damaged-insulation": 9.0, "pinched-wire": 20.0},
    "tab_to_sink_megohms": {"cracked-insulator": 0.001},
    "rail_difference_percent": {
        "solder-short": 100.0,
        "shorted-output": 60.0,
        "reversed-electrolytic": 40.0,
    },
    "offset_millivolts": {"shorted-output": 900.0},
    "touch_milliamps": {"pinched-wire": 20.0, "damaged-insulation": 5.0, "aged-y-capacitor": 1.5},
    "earth_ohms": {"earth-left-off": 1e6, "damaged-lead": 4.0},
    "insulation_megohms": {"pinched-wire": 0.01, "damaged-insulation": 0.2, "wet-board": 0.3},
    "cold_check_megohms": {"pinched-wire": 0.01, "damaged-insulation": 0.2},
}


def doing(key: str, needs_power: tuple[str, ...] = (), needs_cover: str = "") -> Doing:
    """What signing the step takes; what the shop asks for itself comes before our own idea."""
    known = DOING.get(key, ANYTHING)
    power, cover = needs_power or known.power, needs_cover or known.cover
    return replace(
        known,
        power=power,
        cover=cover,
        lift=known.lift and not needs_cover,
        hands=known.hands and "isolated" in power,
    )


def goes_in(what: Doing, unit: Unit) -> bool:
    """Whether hands go in: the step says so, or there is something to mend."""
    return what.hands or _mends_inside(what, unit)


def _mends_inside(what: Doing, unit: Unit) -> bool:
    found = unit.faults & set(what.mends)
    return bool(found - {"wrong-fuse", "bridged-fuse"} if unit.kind.fuse_outside else found)


def doable(what: Doing, unit: Unit, power: str, cover: str) -> bool:
    """Whether honest hands can do it in the state that the shop tells them."""
    needs_cover = "off" if _mends_inside(what, unit) else what.cover
    if what.power and power not in what.power:
        return False
    return not needs_cover or needs_cover == cover or what.lift


def out_of_reach(what: Doing, unit: Unit) -> set[str]:
    """Faults that it would mend inside, were the unit not closed."""
    return unit.faults & set(what.mends) if _mends_inside(what, unit) else set()


def perform(what: Doing, unit: Unit) -> None:
    """Do what comes before the pen: discharge, look, fit, measure."""
    if what.does:
        globals()[f"_{what.does}"](unit)


def mend(what: Doing, unit: Unit) -> float:
    """Mend what it mends and return the minutes it took; a look at nothing is short."""
    idle = bool(what.mends) and not unit.faults & set(what.mends)
    unit.rid_of(what.mends)
    return 3.0 if idle else what.minutes


def found(what: Doing, unit: Unit) -> set[str]:
    """Faults that doing it shows."""
    shown = unit.faults & set(what.shows)
    if what.does == "look_at_fuse" and (unit.kind.fuse_outside or unit.cover == "off"):
        shown |= unit.faults & {"wrong-fuse", "bridged-fuse"}
    return shown


def read(quantity: str, unit: Unit) -> float | None:
    """The true value of a reading; None when only limits can say what is usual."""
    wrong = [v for fault, v in FAULTY.get(quantity, {}).items() if fault in unit.faults]
    if wrong:
        worst_is_low = quantity.endswith(("ohms", "megohms")) and quantity != "earth_ohms"
        return min(wrong) if worst_is_low else max(wrong)
    if quantity in ("residual_volts", "primary_bus_volts", "highest_volts"):
        return unit.highest_volts if unit.power == "isolated" else max(unit.highest_volts, 325.0)
    if quantity == "grid_volts":
        # What the coupling capacitor lets through, or the bias of a healthy stage.
        return 6.0 if "no-negative-bias" in unit.faults else -45.0
    if quantity == "mains_fuse_amps":
        return 10.0 if "wrong-fuse" in unit.faults else 2.0
    healthy = {
        "output_ohms": unit.kind.output_ohms,
        "emitter_millivolts": unit.kind.bias_millivolts,
    }
    return healthy.get(quantity)


def _discharge(unit: Unit) -> None:
    unit.discharge()


def _prove_dead(unit: Unit) -> None:
    unit.proved_dead = unit.power == "isolated" and unit.highest_volts <= 60.0


def _fit_limiter(unit: Unit) -> None:
    unit.limiter = True


def _fit_isolating_transformer(unit: Unit) -> None:
    unit.isolating_transformer = True


def _connect_load(unit: Unit) -> None:
    unit.load = True


def _bias_down(unit: Unit) -> None:
    unit.bias_wild = False


_bias_set = _bias_down


def _make_unusable(unit: Unit) -> None:
    """Cut the lead of a unit with a fault that people know of."""
    unit.unusable = unit.unusable or bool(unit.known_grave("leave"))


def _tag(unit: Unit) -> None:
    unit.tagged = True


def _look_at_fuse(unit: Unit) -> None:
    """Looking changes nothing."""
