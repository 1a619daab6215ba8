"""The plausible way of a unit through the shop: what hands do that follow the next act.

While the shop tells no next act they follow its gates: sign what can be done, then ask for the
next state. They know what is wrong only when they have seen or measured it.
"""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Any

from tests.twin import doing
from tests.twin.moves import Move
from tests.twin.shop_door import Step, View

if TYPE_CHECKING:
    from tests.twin.hands import Hands

_MOST_TRIES = 2
SOAK_MINUTES = 500.0
WARM_SINK = 45.0


def follow(hands: Hands, view: View) -> Move | None:
    """Return the next act; None when there is nothing but to wait."""
    if view.unplug_due:
        return hands.power("isolated")
    act = hands.door.next_act(view.number)
    if act is not None:
        return of_act(hands, view, act)
    if untold := hands.untold():
        return hands.tell(untold[0])
    if view.missing_facts and hands.rng.random() < 0.15:
        return hands.any_fact(view)
    if hands.gives_up:
        return _hand_back(hands, view)
    return _STAGES[view.stage](hands, view)


def of_act(hands: Hands, view: View, act: dict[str, Any]) -> Move | None:
    """Do a next act as the shop words it; `open` and `wait` let time pass."""
    what = act["act"]
    if what == "sign":
        step = view.by_key(act["key"])
        return hands.sign(step, view, told=True) if step else None
    if what in ("power", "cover", "stage"):
        return getattr(hands, what)(act["to"])
    if what == "record":
        return _of_record(hands, act)
    hands.minutes += _minutes_until(hands, act.get("until")) if what == "wait" else 5.0
    return None


def _minutes_until(hands: Hands, until: str | None) -> float:
    if until is None:
        return SOAK_MINUTES
    return max(1.0, (datetime.fromisoformat(until) - hands.clock).total_seconds() / 60)


def _of_record(hands: Hands, act: dict[str, Any]) -> Move:
    """Say what was seen when something was; else the first tile that is true, else the last."""
    if untold := hands.untold():
        return hands.tell(untold[0])
    choices = act.get("choices") or [act]
    chosen = next((c for c in choices if _is_true(hands, c.get("data") or {})), choices[-1])
    data = dict(chosen.get("data") or {})
    for need in chosen.get("needs") or ():
        data[need["name"]] = _observed(hands, need["name"], data)
    move = hands.record(chosen["kind"], **data)
    if data.get("name") == "intake.damage":
        move.tells = hands.damage()
    return move


def _is_true(hands: Hands, data: dict[str, Any]) -> bool:
    """Whether a tile says what is so: a cure of what is known to be wrong, a fact of the plate."""
    if data.get("from_outside") and data.get("work") not in hands.from_outside():
        return False
    if "answer" in data:
        return data["answer"] == hands.customer_says
    return data.get("work") in hands.cures() or data.get("name") in hands.unit.kind.facts


def _observed(hands: Hands, name: str, data: dict[str, Any]) -> Any:
    unit = hands.unit
    if name == "fault":
        return bool(unit.faults)
    if data.get("name") == "intake.damage":
        return hands.damage_words()
    if data.get("name") in unit.kind.facts:
        return unit.kind.facts[data["name"]]
    return WARM_SINK if data.get("quantity") == "sink_celsius" else "as seen"


def _gate(hands: Hands, view: View, *names: str) -> Move | None:
    """Sign the first hold of these gates that can be done as things are."""
    for step in view.gate(*names):
        if _lacks_trials(step, view):
            if view.power == "full":
                return hands.record("trial_run", fault=False, conditions=[])
        elif hands.tries.get(step.key, 0) < _MOST_TRIES:
            move = hands.sign(step, view)
            if move is not None:
                _tried(hands, step.key)
                return move
    return None


def _lacks_trials(step: Step, view: View) -> bool:
    return any(
        q == "clean_trials" and (low or 0) > view.clean_trials for q, low, _ in step.readings
    )


def _tried(hands: Hands, what: str) -> None:
    hands.tries[what] = hands.tries.get(what, 0) + 1


def _power_up(hands: Hands, view: View) -> Move | None:
    """One step more of mains, its gates first; None at full power or when the shop says no."""
    isolated = view.power == "isolated"
    to = "limited" if isolated else "full"
    gates = ("first-power", "limited-power") if isolated else ("full-power", "limited-power")
    move = _gate(hands, view, *gates)
    if move is not None or view.power == "full":
        return move
    if hands.tries.get(to, 0) >= _MOST_TRIES or hands.unit.known_grave(to):
        return None
    _tried(hands, to)
    return hands.power(to)


def _received(hands: Hands, view: View) -> Move:
    if hands.tries_power_first:
        if move := _power_up(hands, view):
            return move
        hands.tries_power_first = False
    if view.power != "isolated":
        return hands.power("isolated")
    return _gate(hands, view, "open-up") or hands.stage("opened")


def _opened(hands: Hands, view: View) -> Move:
    unit = hands.unit
    if view.power != "isolated":
        return _gate(hands, view, "full-power") or hands.power("isolated")
    if unit.cover == "on":
        if hands.was_open and not unit.faults & (hands.seen | unit.told):
            return hands.stage("reassembled")
        _tried(hands, "cover")
        return _gate(hands, view, "open-up") or hands.cover("off")
    if move := _gate(hands, view, "hands-in"):
        return move
    if cures := hands.cures():
        return hands.record("work_done", work=cures[0])
    if move := _gate(hands, view, "first-power", "limited-power", "full-power"):
        return move
    live = [
        s for s in view.gate("full-power") if s.needs_cover == "off" and "limited" in s.needs_power
    ]
    return (_power_up(hands, view) if live else None) or _close(hands)


def _close(hands: Hands) -> Move:
    hands.was_open = True
    left = hands.unit.faults & (hands.seen | hands.unit.told)
    if left:
        hands.setbacks += 1
    return hands.cover("on")


def _reassembled(hands: Hands, view: View) -> Move:
    if hands.unit.cover == "off":
        return hands.cover("on")
    if move := _power_up(hands, view):
        return move
    if view.power == "full":
        return _gate(hands, view, "soak") or _ask(hands, "soaking")
    return _back_to_the_bench(hands)


def _soaking(hands: Hands, view: View) -> Move | None:
    if view.soak == "running":
        hands.minutes += SOAK_MINUTES
        _tried(hands, "soak")
        return hands.record("soak_ended", result="pass") if hands.tries["soak"] % 2 == 0 else None
    if view.soak != "passed":
        if view.power == "full":
            return hands.record("soak_started")
        return _power_up(hands, view) or _back_to_the_bench(hands)
    return _gate(hands, view, "soak", "release") or _towards_release(hands, view)


def _towards_release(hands: Hands, view: View) -> Move:
    """Bring about the state that the first open test needs; with none open, let it go."""
    open_steps = view.gate("soak", "release")
    if any(hands.tries.get(s.key, 0) >= _MOST_TRIES or s.state == "failed" for s in open_steps):
        return _back_to_the_bench(hands)
    wanted = [p for p in map(_power_for, open_steps) if p]
    if not open_steps or ("isolated" in wanted and view.power != "isolated"):
        return hands.power("isolated") if view.power != "isolated" else _ask(hands, "released")
    return _power_up(hands, view) or _back_to_the_bench(hands)


def _power_for(step: Step) -> str:
    needs = doing.doing(step.key, step.needs_power, step.needs_cover).power
    return needs[0] if len(needs) == 1 else ""


def _ask(hands: Hands, to: str) -> Move:
    """Ask for a stage; a shop that says no again and again sends it back to the bench."""
    _tried(hands, to)
    return hands.stage(to) if hands.tries[to] < _MOST_TRIES else _back_to_the_bench(hands)


def _back_to_the_bench(hands: Hands) -> Move:
    hands.setbacks += 1
    hands.tries.clear()
    hands.was_open = False
    return hands.stage("opened")


def _on_the_shelf(hands: Hands, view: View) -> Move:
    if view.outstanding:
        return hands.record("part_arrived", need=view.outstanding[0])
    return hands.stage("opened")


def _hand_back(hands: Hands, view: View) -> Move:
    if view.power != "isolated":
        return hands.power("isolated")
    if hands.unit.cover == "off":
        return hands.cover("on")
    _tried(hands, "withdrawn")
    if hands.tries["withdrawn"] > _MOST_TRIES:  # then it has to be mended after all
        hands.setbacks = hands.moves = 0
        return _back_to_the_bench(hands)
    return _gate(hands, view, "hand-back") or hands.stage("withdrawn")


_STAGES = {
    "received": _received,
    "reproducing": _received,
    "opened": _opened,
    "awaiting_parts": _on_the_shelf,
    "reassembled": _reassembled,
    "soaking": _soaking,
}
