"""A demo shop: seven units of invented makers, each somewhere else on its way, and its past."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.utils import timezone

from checklists.engine.words import UNATTENDED
from shop.accounts import roles
from shop.demo import customers, papers, past
from shop.demo.story import Story
from shop.intake.services import IntakeDetails
from shop.jobs.models import JobPart
from shop.parts.models import Part, Supplier
from shop.parts.orders import LineToOrder
from shop.planning import ordering


def write() -> None:
    """Write the demo shop; every row goes through the same door as a person's."""
    technician = roles.make_user("technician", "technician")
    past.write(technician, roles.make_user("owner", "owner"))
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
    papers.write(technician, morning)


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
        make="Ravelund",
        model="Thatch 30 combo",
        serial="K30-0417",
        complaint="Hums louder since the winter, also with the volume at nought. Glows fine.",
        details=IntakeDetails(
            name="Mirela Dobson",
            email="mirela@example.org",
            phone="020 7946 0101",
            agreed_to_mail=True,
            came_by="counter",
            accessories="mains lead\nfoot switch",
            ring_above="250",
        ),
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
    story.limited().moved(stage="reproducing")
    story.wrote("trial_run", conditions=["cold"], fault=True, note="100 Hz, both inputs shorted")
    story.opened(**_DEAD).moved(stage="opened")
    story.wrote(
        "finding_recorded",
        finding="electrolytics-aged",
        section="supply",
        note="first reservoir 31 of 50 uF",
    )
    story.wrote("round_finished", round="look")
    story.wrote("suspect_changed", suspect="first reservoir", change="confirmed", section="supply")
    story.today(3).inside("work_done", work="reservoirs-replaced", section="supply", minutes=55)
    customers.pictured(story)


def _loudspeaker_that_ticks(by: User, now: datetime) -> None:
    story = Story(
        by,
        now - timedelta(days=3),
        make="Odalvik",
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
    story.opened(**_DEAD).moved(stage="opened")
    capacitor = Part.objects.get(spec__startswith="Electrolytic capacitor 22 uF")
    story.wrote("part_needed", spec=capacitor.spec, part=capacitor.pk, quantity=2)
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
        make="Halvenholt",
        model="Court 70",
        serial="C70-8812",
        complaint="Plays for half an hour, then clicks off. Comes back after it has cooled.",
        details=IntakeDetails(
            name="Tobias Ferreira",
            email="tobias@example.org",
            agreed_to_mail=True,
            came_by="parcel",
            parcel="crushed",
            accessories="mains lead\naerial wire",
        ),
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
    relay = Part.objects.get(spec__startswith="Output relay")
    story.wrote("part_needed", spec=relay.spec, part=relay.pk, required=False)
    story.limited().moved(stage="reproducing")
    customers.asked(story)
    for fault in (False, True, False, True, True):
        story.later(minutes=40).wrote("trial_run", conditions=["warm"], fault=fault)
    story.opened(**_DEAD).moved(stage="opened")
    story.wrote("finding_recorded", finding="compound-dry", section="left-amplifier")
    story.wrote("round_finished", round="look")
    story.inside(
        "work_done", work="thermal-interface-renewed", section="left-amplifier", minutes=40
    )
    story.wrote("round_finished", round="work")
    story.signed("compound-removed-whole").signed("compound-renewed").signed("mains-capacitors-age")
    story.today(1).limited(lowest_ohms=470.0, tab_to_sink_megohms=2000.0)


def _deck_on_soak(by: User, now: datetime) -> None:
    story = Story(
        by,
        now - timedelta(days=12),
        make="Corvenby",
        model="Spool 3 cassette deck",
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
    story.limited().moved(stage="reproducing")
    story.wrote("trial_run", conditions=["after-minutes"], fault=True)
    story.opened(**_DEAD).moved(stage="opened")
    story.wrote("finding_recorded", finding="belt-perished", section="mechanism")
    story.wrote("round_finished", round="look")
    story.wrote("part_needed", spec="Belt, square 1.2 mm, inner length 214 mm", required=True)
    story.moved(stage="awaiting_parts").later(days=5)
    story.today(4).wrote("part_arrived").moved(stage="opened")
    story.inside("part_fitted", section="mechanism")
    story.inside("work_done", work="belt-replaced", section="mechanism", minutes=35)
    story.wrote("round_finished", round="work")
    story.signed("mains-capacitors-age").signed("belts-and-idlers").closed(lowest_ohms=330.0).moved(
        stage="reassembled"
    )
    story.full(rail_difference_percent=1.5).cleared(UNATTENDED)
    story.moved(stage="soaking").wrote("soak_started")
    for minutes, celsius in ((0, 22.5), (10, 26.8), (20, 31.6), (30, 34.9), (60, 37.4)):
        story.later(minutes=minutes)
        story.wrote("soak_reading", quantity="sink_celsius", value=celsius, unit="C")


def _mixer_waiting_for_faders(by: User, now: datetime) -> None:
    story = Story(
        by,
        now - timedelta(days=15),
        make="Brassow",
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
    story.limited().moved(stage="reproducing")
    for fault in (True, True, False):
        story.wrote("trial_run", conditions=["knocked"], fault=fault)
    story.opened(**_DEAD).moved(stage="opened")
    story.wrote("finding_recorded", finding="control-scratchy", section="controls")
    story.wrote("round_finished", round="look")
    fader = Part.objects.get(spec__startswith="Fader")
    story.wrote("part_needed", spec=fader.spec, part=fader.pk)
    story.wrote("part_needed", spec="Knob for a 6 mm shaft, grey", required=False)
    need = JobPart.objects.filter(job=story.number).earliest("need")
    wanted = [LineToOrder(fader, 2, Decimal("11.40"), (((story.number, need.need), 1),))]
    supplier = Supplier.objects.get(name__startswith="Nordhafen")
    day = timezone.localdate(now) - timedelta(days=2)
    ordering.place(supplier, wanted, by=by, at=story.at, expected_on=day)
    story.moved(stage="awaiting_parts")
    story.wrote("promise_made", on=(timezone.localdate(now) + timedelta(days=6)).isoformat())


def _player_just_in(by: User, now: datetime) -> None:
    Story(
        by,
        now - timedelta(hours=2),
        make="Sorngaard",
        model="Pebble disc player",
        serial="PB-55120",
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
        make="Ostrevik Works",
        model="Lantern tuner",
        serial="T-8830",
        complaint="Display dark, plays. Smelled hot once.",
        facts={
            "unit.kind": "tuner",
            "unit.supply": "linear",
            "complaint.symptoms": ["no-display", "burning-smell"],
            "intake.damage": ["burnt-smell"],
        },
    )
