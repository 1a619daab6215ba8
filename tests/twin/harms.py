"""What would hurt: looked at on the unit as it is when an accepted move happens."""

from __future__ import annotations

from tests.twin.doing import goes_in
from tests.twin.moves import Move
from tests.twin.units import ANY_MAINS, LEAVING, SLIPS_OF_WORK, TOUCHABLE_VOLTS, UNLIMITED, Unit


def of(unit: Unit, move: Move) -> list[str]:
    """Return every harm of a move, by sort; empty when nobody is hurt and nothing destroyed."""
    if move.verb == "record" and move.data["event_type"] in ("work_done", "part_fitted"):
        return _of_work(unit, move)
    if move.verb == "sign":
        return _of_hands(unit) if goes_in(move.doing, unit) else []
    if move.verb == "power" and move.data["to"] != "isolated":
        return _of_mains(unit, move.data["to"])
    if move.verb == "cover" and move.data["to"] == "off" and unit.power != "isolated":
        return ["cover off under mains"]
    if move.verb == "stage" and move.data["to"] in ("released", "withdrawn"):
        return _of_leaving(unit, move.data["to"])
    return []


def _of_work(unit: Unit, move: Move) -> list[str]:
    """Work inside now; what is told late, was before, or happens elsewhere meets no inside."""
    marks = move.data["data"]
    if marks.get("late") or marks.get("before"):
        return []
    if marks.get("from_outside") or marks.get("board_out"):
        return ["work under mains"] if unit.power != "isolated" else []
    if unit.cover == "on":
        return ["work inside a closed unit", *_under_mains(unit)]
    return _of_hands(unit)


def _of_hands(unit: Unit) -> list[str]:
    """A hand inside: charge, mains, or no dead proof since mains was last on."""
    harms = _under_mains(unit)
    if unit.highest_volts > TOUCHABLE_VOLTS:
        harms.append("hand above 60 V")
    elif not unit.proved_dead and not unit.low_voltage:
        harms.append("hand in an unproved unit")
    return harms


def _under_mains(unit: Unit) -> list[str]:
    return ["work under mains"] if unit.power != "isolated" else []


def _of_mains(unit: Unit, to: str) -> list[str]:
    harms = []
    if unit.known_grave(ANY_MAINS if to == "limited" else UNLIMITED):
        harms.append("mains on with a known grave fault")
    if unit.faults & set(SLIPS_OF_WORK) and to == "full":
        harms.append("full mains on a slip of work")
    if unit.untried and not unit.low_voltage and not (to == "limited" and unit.limiter):
        harms.append("no limiter at first mains")
    if unit.bias_wild and to == "full":
        harms.append("full mains on wild bias")
    if unit.valves and not unit.load:
        harms.append("valve stage without load")
    if unit.transformerless and unit.cover == "off" and not unit.isolating_transformer:
        harms.append("live chassis at the bench")
    return harms


def _of_leaving(unit: Unit, to: str) -> list[str]:
    harms = []
    if unit.power != "isolated":
        harms.append("leaves plugged in")
    if unit.cover == "off":
        harms.append("leaves open")
    if unit.unusable and unit.tagged:
        return harms
    if unit.known_grave(LEAVING):
        harms.append(f"{to} with a known grave fault")
    if unit.made_on_closing:
        harms.append(f"{to} with a fault made on closing")
    return harms
