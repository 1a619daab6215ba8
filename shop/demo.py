"""A demo shop: seven units of invented makers, each somewhere else on its way."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.utils import timezone

from shop.desk import intake
from shop.jobs import moves, queries
from shop.lib import people


class Story:
    """One unit's way through the shop, told through the same moves that people make."""

    def __init__(self, by: User, begins: datetime, **unit: Any) -> None:
        self.by = by
        self.at = begins
        self.number = intake.receive(by=by, at=begins, **unit).number

    def later(self, **step: float) -> Story:
        """Let time pass."""
        self.at += timedelta(**step)
        return self

    def today(self, hour: float) -> Story:
        """Jump to so many hours before the demo is written."""
        self.at = max(self.at, timezone.now() - timedelta(hours=hour))
        return self

    def _now(self) -> datetime:
        self.at += timedelta(minutes=3)
        return self.at

    def wrote(self, kind: str, **data: Any) -> Story:
        """Record something."""
        moves.record(self.number, kind, data, by=self.by, at=self._now())
        return self

    def signed(self, key: str, result: str = "pass", note: str = "", **readings: float) -> Story:
        """Sign a step."""
        moves.sign(
            self.number,
            key,
            result=result,
            note=note,
            readings=list(readings.items()),
            by=self.by,
            at=self._now(),
        )
        return self

    def passed_gate(self, gate: str, **readings: float) -> Story:
        """Sign every open hold step of a gate with readings by quantity."""
        job = queries.job(self.number, self.at)
        for step in queries.Traveller.of(job).checklist.unmet(gate):
            mine = {
                r.quantity: readings[r.quantity] for r in step.readings if r.quantity in readings
            }
            self.signed(step.key, "pass", "", **mine)
        return self

    def moved(self, **where: str) -> Story:
        """Move power, cover or stage."""
        doors: dict[str, Callable[..., Any]] = {
            "power": moves.set_power,
            "cover": moves.set_cover,
            "stage": moves.set_stage,
        }
        for what, to in where.items():
            doors[what](self.number, to, by=self.by, at=self._now())
        return self


def write() -> None:
    """Write the demo shop; every row goes through the same door as a person's."""
    technician = people.make("technician", "technician")
    morning = timezone.localtime().replace(hour=9, minute=10, second=0, microsecond=0)
    for tell in (
        _combo_with_hum,
        _loudspeaker_that_ticks,
        _receiver_that_trips,
        _deck_on_soak,
        _mixer_waiting_for_faders,
        _player_just_in,
        _tuner_left_lying,
    ):
        tell(technician, morning)


# What the sheets of these five say, so that only the two that just came in have open questions.
_ORDINARY: dict[str, Any] = {
    "unit.mains_selector": False,
    "unit.bridged_outputs": False,
    "unit.standby_supply": False,
    "unit.captive_lead": False,
    "unit.fan_cooled": False,
    "unit.phantom_power": False,
    "unit.pfc_bus": False,
    "unit.insulated_devices": False,
}
_DEAD = {"residual_volts": 4.0, "highest_volts": 1.2, "primary_bus_volts": 3.0}


def _combo_with_hum(by: User, now: datetime) -> None:
    story = Story(
        by,
        now - timedelta(days=6),
        make="Ravelin",
        model="Kestrel 30 combo",
        serial="K30-0417",
        complaint="Hums louder since the winter, also with the volume at nought. Glows fine.",
        owner_name="Mirela Dobson",
        owner_email="mirela@example.org",
        facts={
            **_ORDINARY,
            "unit.kind": "instrument-combo",
            "unit.supply": "linear",
            "unit.output_stage": "valve-push-pull",
            "unit.protective_class": "I",
            "unit.mains_volts": 230,
            "unit.year": 1974,
            "unit.rail_volts": 420,
            "unit.reservoir_uf": 100,
            "unit.rated_watts": 30,
            "unit.has_laser": False,
            "unit.has_lithium_cell": False,
            "complaint.symptoms": ["hum"],
            "complaint.intermittent": False,
            "complaint.when": ["always"],
            "intake.damage": ["none"],
        },
    )
    story.passed_gate("first-power").moved(stage="reproducing", power="limited")
    story.wrote("trial_run", conditions=["cold"], fault=True, note="100 Hz, both inputs shorted")
    story.moved(power="isolated").passed_gate("open-up", **_DEAD).moved(stage="opened", cover="off")
    story.wrote(
        "finding_recorded",
        finding="electrolytics-aged",
        section="supply",
        note="first reservoir 31 of 50 uF",
    )
    story.wrote("suspect_changed", suspect="first reservoir", change="confirmed", section="supply")
    story.today(3).wrote("work_done", work="reservoirs-replaced", section="supply", minutes=55)


def _loudspeaker_that_ticks(by: User, now: datetime) -> None:
    story = Story(
        by,
        now - timedelta(days=3),
        make="Odalin",
        model="Quarry 6 active",
        serial="Q6A-22051",
        complaint="Ticks about once a second, lamp blinks, no sound. One of a pair.",
        facts={
            **_ORDINARY,
            "unit.kind": "active-loudspeaker",
            "unit.supply": "switch-mode",
            "unit.output_stage": "class-d",
            "unit.protective_class": "I",
            "unit.mains_volts": 230,
            "unit.year": 2013,
            "unit.rail_volts": 52,
            "unit.rated_watts": 120,
            "unit.has_laser": False,
            "unit.has_lithium_cell": False,
            "unit.bias_adjustable": False,
            "unit.offset_adjustable": False,
            "unit.output_relay": False,
            "unit.moving_parts": False,
            "complaint.symptoms": ["no-output"],
            "complaint.intermittent": False,
            "complaint.when": ["always"],
            "intake.damage": ["dented"],
        },
    )
    story.passed_gate("open-up", **_DEAD).moved(stage="opened", cover="off")
    story.wrote(
        "suspect_changed",
        suspect="start-up capacitor of the supply",
        evidence="supply restarts once a second, secondary not shorted",
        section="supply",
    )


def _receiver_that_trips(by: User, now: datetime) -> None:
    story = Story(
        by,
        now - timedelta(days=9),
        make="Halvard & Lunt",
        model="Meridian Court 70",
        serial="MC70-8812",
        complaint="Plays for half an hour, then clicks off. Comes back after it has cooled.",
        owner_name="Tobias Ferreira",
        owner_email="tobias@example.org",
        facts={
            **_ORDINARY,
            "unit.kind": "receiver",
            "unit.supply": "linear",
            "unit.output_stage": "class-ab",
            "unit.protective_class": "II",
            "unit.mains_volts": 230,
            "unit.year": 1982,
            "unit.rail_volts": 46,
            "unit.reservoir_uf": 12000,
            "unit.rated_watts": 140,
            "unit.bias_adjustable": True,
            "unit.offset_adjustable": True,
            "unit.output_relay": True,
            "unit.insulated_devices": True,
            "unit.has_laser": False,
            "unit.has_lithium_cell": False,
            "unit.moving_parts": False,
            "complaint.symptoms": ["protection-trips"],
            "complaint.intermittent": True,
            "complaint.when": ["warm", "after-minutes"],
            "intake.damage": ["none"],
        },
    )
    story.passed_gate("first-power").moved(stage="reproducing", power="limited")
    for fault in (False, True, False, True, True):
        story.later(minutes=40).wrote("trial_run", conditions=["warm"], fault=fault)
    story.moved(power="isolated").passed_gate("open-up", **_DEAD).moved(stage="opened", cover="off")
    story.wrote("finding_recorded", finding="compound-dry", section="left-amplifier")
    story.wrote("work_done", work="thermal-interface-renewed", section="left-amplifier", minutes=40)
    story.signed("compound-removed-whole")
    story.today(1).passed_gate(
        "limited-power", lowest_ohms=470.0, tab_to_sink_megohms=2000.0
    ).moved(power="limited")


def _deck_on_soak(by: User, now: datetime) -> None:
    story = Story(
        by,
        now - timedelta(days=12),
        make="Corvane",
        model="CT-3 cassette deck",
        serial="3-110984",
        complaint="Wow, then stops by itself after a minute.",
        facts={
            **_ORDINARY,
            "unit.kind": "cassette-deck",
            "unit.supply": "linear",
            "unit.output_stage": "none",
            "unit.protective_class": "II",
            "unit.mains_volts": 230,
            "unit.year": 1987,
            "unit.rail_volts": 18,
            "unit.rated_watts": 14,
            "unit.bias_adjustable": False,
            "unit.offset_adjustable": False,
            "unit.output_relay": False,
            "unit.has_laser": False,
            "unit.has_lithium_cell": False,
            "unit.moving_parts": True,
            "complaint.symptoms": ["mechanical"],
            "complaint.intermittent": False,
            "complaint.when": ["after-minutes"],
            "intake.damage": ["none"],
        },
    )
    story.passed_gate("first-power").moved(stage="reproducing", power="limited")
    story.wrote("trial_run", conditions=["after-minutes"], fault=True)
    story.moved(power="isolated").passed_gate("open-up", **_DEAD).moved(stage="opened", cover="off")
    story.wrote("finding_recorded", finding="belt-perished", section="mechanism")
    story.wrote("part_needed", spec="Belt, square 1.2 mm, inner length 214 mm", required=True)
    story.moved(stage="awaiting_parts").later(days=5)
    story.today(4).wrote("part_arrived").wrote("part_fitted", section="mechanism").moved(
        stage="opened"
    )
    story.wrote("work_done", work="belt-replaced", section="mechanism", minutes=35)
    story.signed("belts-and-idlers").moved(cover="on", stage="reassembled")
    story.passed_gate("limited-power", lowest_ohms=330.0).moved(power="limited")
    story.passed_gate("full-power", rail_difference_percent=1.5).moved(power="full")
    story.passed_gate("soak").moved(stage="soaking").wrote("soak_started")


def _mixer_waiting_for_faders(by: User, now: datetime) -> None:
    story = Story(
        by,
        now - timedelta(days=15),
        make="Brightwell Audio",
        model="Loom 12 mixer",
        serial="L12-0093",
        complaint="Channel 5 crackles when the fader moves, sometimes drops out altogether.",
        facts={
            **_ORDINARY,
            "unit.phantom_power": True,
            "unit.kind": "mixer",
            "unit.supply": "external-adaptor",
            "unit.output_stage": "none",
            "unit.protective_class": "III",
            "unit.mains_volts": 230,
            "unit.year": 1999,
            "unit.rail_volts": 18,
            "unit.rated_watts": 35,
            "unit.has_laser": False,
            "unit.has_lithium_cell": False,
            "unit.moving_parts": False,
            "complaint.symptoms": ["crackle", "intermittent-output"],
            "complaint.intermittent": True,
            "complaint.when": ["knocked"],
            "intake.damage": ["none"],
        },
    )
    story.passed_gate("first-power").moved(stage="reproducing", power="limited")
    for fault in (True, True, False):
        story.wrote("trial_run", conditions=["knocked"], fault=fault)
    story.moved(power="isolated").passed_gate("open-up", **_DEAD).moved(stage="opened", cover="off")
    story.wrote("finding_recorded", finding="control-scratchy", section="controls")
    story.wrote("part_needed", spec="Fader 60 mm, 10 kohm logarithmic, dual, PCB pins")
    story.wrote("part_ordered").moved(stage="awaiting_parts")


def _player_just_in(by: User, now: datetime) -> None:
    Story(
        by,
        now - timedelta(hours=2),
        make="Sondergaard",
        model="SD-2 disc player",
        serial="SD2-55120",
        complaint="Reads some discs, skips on others, worse when cold.",
        facts={
            "unit.kind": "disc-player",
            "complaint.symptoms": ["intermittent-output"],
            "complaint.intermittent": True,
            "complaint.when": ["cold"],
        },
    )


def _tuner_left_lying(by: User, now: datetime) -> None:
    Story(
        by,
        now - timedelta(days=20),
        make="Ostrava Works",
        model="Lyra tuner",
        serial="T-8830",
        complaint="Display dark, plays. Smelled hot once.",
        facts={
            "unit.kind": "tuner",
            "unit.supply": "linear",
            "complaint.symptoms": ["no-display", "burning-smell"],
            "intake.damage": ["burnt-smell"],
        },
    )
