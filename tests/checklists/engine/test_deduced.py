"""A kind that never has a laser says so, and what speaks of a laser is never overruled."""

from __future__ import annotations

import pytest

from checklists import published
from checklists.engine.deduced import with_deduced
from checklists.engine.derive import derive
from checklists.engine.history import Event, History
from checklists.engine.vocabulary import VOCABULARY

PACK = published.pack()
LASER, STEP = "unit.has_laser", "laser-closed-path"
KINDS = [kind for kind in VOCABULARY["unit.kind"].words if kind != "disc-player"]


def unit(**changes):
    facts = {"unit.kind": "mixer", "findings": [], "work": []}
    facts |= {name.replace("__", "."): value for name, value in changes.items()}
    return {name: value for name, value in facts.items() if value is not None}


def asks(facts, *events):
    checklist = derive(PACK, with_deduced(facts), History.of(events))
    return STEP in checklist.by_key


@pytest.mark.parametrize("kind", KINDS)
def test_what_plays_no_discs_is_not_asked_for_its_laser(kind):
    assert with_deduced(unit(unit__kind=kind))[LASER] is False
    assert not asks(unit(unit__kind=kind))


@pytest.mark.parametrize(
    "changes",
    [
        {"unit__kind": "disc-player"},
        {"unit__kind": "disc-player", "unit__has_laser": False},
        {"unit__kind": None},
        {"unit__has_laser": True},
        {"findings": ["laser-weak"]},
        {"work": ["laser-replaced"]},
        {"complaint__symptoms": ["hum", "no-read"]},
        {"findings": None},
        {"work": None},
    ],
    ids=str,
)
def test_what_may_have_a_laser_is_asked(changes):
    assert asks(unit(**changes))


def test_only_what_follows_is_added():
    facts = unit(unit__year=1990)
    assert with_deduced(facts) == {**facts, LASER: False}
    assert LASER not in facts, "the facts given stay as they are"
    said = unit(unit__has_laser=True)
    assert with_deduced(said) == said
    assert with_deduced({}) == {}


def recorded(sequence, name, value):
    return Event(sequence=sequence, event_type="fact_recorded", fact=name, value=value)


OPENED = Event(sequence=2, event_type="cover_removed")


def test_opened_before_its_kind_was_known_it_stays_asked():
    late = recorded(3, "unit.kind", "mixer")
    assert asks(unit(), OPENED, late), "raised when it was possible: it falls by its step"
    assert not asks(unit(), recorded(1, "unit.kind", "mixer"), OPENED)


def test_another_kind_told_later_takes_nothing_back():
    said = recorded(1, "unit.kind", "disc-player"), OPENED, recorded(3, "unit.kind", "mixer")
    assert asks(unit(), *said)
