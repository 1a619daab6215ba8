"""Stages, power and cover of a job: the words, and which may follow which."""

from __future__ import annotations

from enum import StrEnum


class Stage(StrEnum):
    """Where a job is in the shop."""

    RECEIVED = "received"
    REPRODUCING = "reproducing"
    OPENED = "opened"
    AWAITING_PARTS = "awaiting_parts"
    REASSEMBLED = "reassembled"
    SOAKING = "soaking"
    RELEASED = "released"
    WITHDRAWN = "withdrawn"


class Power(StrEnum):
    """What mains the unit has."""

    ISOLATED = "isolated"
    LIMITED = "limited"
    FULL = "full"


class Cover(StrEnum):
    """Whether hands can reach in."""

    ON = "on"
    OFF = "off"


class Waiting(StrEnum):
    """What an open job waits on. Stored as they are, whatever the customer is called since."""

    HANDS = "hands"
    CUSTOMER = "owner"
    PARTS = "parts"
    SOAK_CLOCK = "soak-clock"
    # Never stored: what waits on hands and has outrun its stage's time, as jobs are read.
    NOBODY = "nobody"


# The line of stations that pages and papers draw, each with the gates that stand before it.
LINE: tuple[tuple[Stage, tuple[str, ...]], ...] = (
    (Stage.RECEIVED, ()),
    (Stage.REPRODUCING, ("first-power",)),
    (Stage.OPENED, ("open-up", "hands-in")),
    (Stage.REASSEMBLED, ("limited-power", "full-power")),
    (Stage.SOAKING, ("soak",)),
    (Stage.RELEASED, ("release",)),
)
CLOSED = (Stage.RELEASED, Stage.WITHDRAWN)
OPEN = tuple(stage for stage in Stage if stage not in CLOSED)

# The one table of it: the transitions of the model are made from it.
FOLLOWS: dict[Stage, tuple[Stage, ...]] = {
    Stage.RECEIVED: (Stage.REPRODUCING, Stage.OPENED, Stage.WITHDRAWN),
    Stage.REPRODUCING: (Stage.OPENED, Stage.WITHDRAWN),
    Stage.OPENED: (Stage.AWAITING_PARTS, Stage.REASSEMBLED, Stage.WITHDRAWN),
    Stage.AWAITING_PARTS: (Stage.OPENED, Stage.WITHDRAWN),
    Stage.REASSEMBLED: (Stage.SOAKING, Stage.OPENED, Stage.WITHDRAWN),
    Stage.SOAKING: (Stage.RELEASED, Stage.OPENED, Stage.WITHDRAWN),
    Stage.RELEASED: (),
    Stage.WITHDRAWN: (),
}

# Working hours after which a job that nobody touched in this stage has stalled.
STALL_TIMEOUT_HOURS: dict[Stage, int] = {
    Stage.RECEIVED: 18,
    Stage.REPRODUCING: 18,
    Stage.OPENED: 27,
    Stage.AWAITING_PARTS: 90,
    Stage.REASSEMBLED: 9,
    Stage.SOAKING: 18,
}

# Phases of the checklist that are worked in each stage, unfolded on its page.
PHASES_NOW: dict[Stage, tuple[str, ...]] = {
    Stage.RECEIVED: ("intake", "first-power", "open-up"),
    Stage.REPRODUCING: ("intake", "first-power", "open-up"),
    Stage.OPENED: ("intake", "open-up", "inspection", "work", "limited-power", "full-power"),
    Stage.AWAITING_PARTS: ("inspection", "work"),
    Stage.REASSEMBLED: ("intake", "limited-power", "full-power", "setting-up", "soak"),
    Stage.SOAKING: ("setting-up", "soak", "release"),
    Stage.RELEASED: (),
    Stage.WITHDRAWN: (),
}
