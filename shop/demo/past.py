"""The demo shop's past: units that have left, parcels that came, what lies in the bins."""

from __future__ import annotations

import random
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from checklists.engine.words import LEAVE, UNATTENDED
from shop.bills import services as bills
from shop.demo.story import Story
from shop.jobs.models import JobPart
from shop.parts import stock
from shop.parts.models import Offer, Part, PriceBreak, Supplier
from shop.parts.orders import LineToOrder
from shop.planning import ordering

_LEFT = 16
# The last ones to leave still wait for their bills.
_NOT_BILLED = 2
_MODELS = (
    ("Corvenby", "Spool 3 cassette deck", "cassette-deck"),
    ("Brassow", "Loom 12 mixer", "mixer"),
    ("Ostrevik Works", "Lantern tuner", "tuner"),
    ("Sorngaard", "Pebble disc player", "disc-player"),
)
_BELT = "Belt, square 1.2 mm, inner length 214 mm"
_FADER = "Fader 60 mm, 10 kohm logarithmic, dual, PCB pins"
_CAPACITOR = "Electrolytic capacitor 22 uF 50 V, 105 C, low impedance, 2.5 mm"
_RELAY = "Output relay, 24 V coil, two changeover contacts 8 A"


def write(by: User, owner: User) -> None:
    """Write suppliers, stock and closed jobs; every row through the same doors as a person's."""
    draw = random.Random(7)
    north, south = _suppliers()
    parts = {spec: Part.objects.create(spec=spec) for spec in (_BELT, _FADER, _CAPACITOR, _RELAY)}
    _offer(north, parts[_BELT], 9, {1: "3.20", 5: "2.60"})
    _offer(south, parts[_BELT], None, {1: "3.90"})
    _offer(north, parts[_FADER], None, {1: "11.40", 4: "9.80"})
    _offer(south, parts[_FADER], None, {1: "12.10"})
    _offer(north, parts[_CAPACITOR], None, {1: "0.62", 10: "0.38"})
    _offer(south, parts[_CAPACITOR], None, {1: "0.74"})
    _offer(south, parts[_RELAY], None, {1: "6.75", 10: "5.40"})
    now = timezone.now()
    with transaction.atomic():
        actor = stock.StockActor(owner, now - timedelta(days=100))
        stock.put_in(parts[_RELAY], stock.get_or_create_bin("drawer 4"), 3, "bought", actor)
    for place in range(_LEFT):
        left = now - timedelta(days=4 + 5 * place, hours=draw.randint(0, 6))
        number = _one_that_left(by, left, place, (north, south)[place % 2], parts[_BELT], draw)
        if place >= _NOT_BILLED:
            bills.bill_nothing(number, "Billed on paper", by=owner, at=left)


def _suppliers() -> tuple[Supplier, Supplier]:
    north = Supplier.objects.create(
        name="Nordhafen Components", postage=Decimal("5.90"), free_above=Decimal(60), usual_days=4
    )
    south = Supplier.objects.create(
        name="Hollow Lane Spares", postage=Decimal("3.50"), minimum=Decimal(10), usual_days=2
    )
    return north, south


def _offer(supplier: Supplier, part: Part, days: int | None, breaks: dict[int, str]) -> None:
    offer = Offer.objects.create(supplier=supplier, part=part, days=days)
    for quantity, price in breaks.items():
        PriceBreak.objects.create(offer=offer, quantity=quantity, price=Decimal(price))


def _facts(kind: str) -> dict[str, Any]:
    return {
        "unit.kind": kind,
        "unit.supply": "linear",
        "unit.output_stage": "none",
        "unit.protective_class": "II",
        "unit.mains_volts": 230,
        "unit.year": 1994,
        "unit.rail_volts": 18,
        "unit.rated_watts": 20,
        "unit.has_laser": False,
        "unit.has_lithium_cell": False,
        "unit.mains_selector": False,
        "unit.insulated_devices": False,
        "unit.output_relay": False,
        "unit.moving_parts": False,
        "complaint.symptoms": ["noise"],
        "complaint.intermittent": False,
        "complaint.when": ["always"],
        "intake.damage": ["none"],
    }


def _one_that_left(
    by: User, left: datetime, place: int, supplier: Supplier, part: Part, draw: random.Random
) -> int:
    make, model, kind = _MODELS[place % len(_MODELS)]
    came = left - timedelta(days=13)
    story = Story(
        by,
        came,
        make=make,
        model=model,
        serial=f"P-{place:03}",
        complaint="Noisy.",
        facts=_facts(kind),
    )
    story.later(days=draw.uniform(0.3, 2)).limited().moved(stage="reproducing")
    story.wrote("trial_run", conditions=["cold"], fault=True).moved(power="isolated")
    story.later(days=draw.uniform(0.2, 1.5)).opened().moved(stage="opened")
    if place % 2:
        _wait_for_a_part(story, supplier, part, draw)
    story.later(days=draw.uniform(0.2, 2)).inside("work_done", work="joints-reflowed", minutes=40)
    story.closed().moved(stage="reassembled").full().cleared(UNATTENDED)
    story.moved(stage="soaking").wrote("soak_started").later(hours=5).wrote("soak_ended")
    story.moved(power="isolated").cleared(LEAVE).moved(power="isolated")
    story.later(hours=draw.uniform(1, 30)).moved(stage="released")
    return story.number


def _wait_for_a_part(story: Story, supplier: Supplier, part: Part, draw: random.Random) -> None:
    story.wrote("part_needed", spec=part.spec, part=part.pk)
    need = JobPart.objects.get(job=story.number)
    wanted = [LineToOrder(part, 1, Decimal("3.20"), (((story.number, need.need), 1),))]
    made = ordering.place(supplier, wanted, by=story.by, at=story.at)
    story.moved(stage="awaiting_parts").later(days=draw.uniform(1.5, 6))
    counts = {line.pk: 1 for line in made.lines.all()}
    ordering.arrive(made.pk, counts, by=story.by, at=story.at)
    story.moved(stage="opened").inside("part_fitted", section="mechanism")
