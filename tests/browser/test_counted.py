"""Three units through the whole job on a phone, as a person would: what it costs is counted.

The same three units cost in the first shop, counted by hand: 216 taps, 132 fields and 103 page
loads for the amplifier, 101, 42 and 23 for the combo, 53, 39 and 22 for the deck. The limits are
half of that where it is met. `-s` prints what each card costs.

The combo stands at a bench with a connected meter for temperature and for volts. It reads the hot
transformer nine times in the soak, by the worker's rounds, and the grid once, at a tap. All other
readings are typed: the shop takes none from a line that shows a unit to be harmless.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.utils import timezone

from shop.instruments import connecting
from shop.instruments.models import Connection
from shop.meters import soak_logs
from tests.browser.conftest import MOST_PIXELS, PHONE
from tests.browser.counting import Count, Hand
from tests.browser.practitioner import CELSIUS_ASKED, VOLTS_ASKED, Practitioner
from tests.helpers_instruments import CELSIUS, VOLTS, instrument
from tests.instruments.simulated import IDENTITY, Meter, meter

pytestmark = [
    pytest.mark.browser_context_args(viewport=PHONE, is_mobile=True, has_touch=True),
    pytest.mark.usefixtures("crew", "live_server"),
]

AMPLIFIER = Count(108, 66, 51)
COMBO = Count(50, 21, 11)
DECK = Count(26, 19, 11)

PARTS = ("complaint", "customer", "arrival")
COUNTER, PARCEL = {"customer_came_by": ["counter"]}, {"customer_came_by": ["parcel"]}
TOLD: dict[str, str | list[str]] = {
    "customer_name": "Ada Quill",
    "customer_phone": "+49 30 5550 118",
}


@pytest.fixture
def hand(signed_in) -> Iterator[Hand]:
    hand = Hand(signed_in)
    yield hand
    print("\n".join(["", *hand.story, str(hand.count)]))
    tall = {words: pixels for words, pixels in hand.heights.items() if pixels > MOST_PIXELS}
    assert not tall, f"taller than two screens after: {tall}"


def receive(hand: Hand, *parts: dict[str, str | list[str]]) -> None:
    """Take a unit in, part by part."""
    page = hand.page
    hand.tap(page.get_by_role("link", name="Receive", exact=True))
    for place, values in enumerate(parts):
        if place:
            hand.tap(page.get_by_role("button", name=f"Next: {PARTS[place - 1]}"))
        for name, value in values.items():
            if isinstance(value, list):
                for word in value:
                    hand.tick(page.locator(f"form.receive [name='{name}'][value='{word}']"))
            else:
                hand.fill(page.locator(f"form.receive [name='{name}']"), value)
    hand.tap(page.get_by_role("button", name="Receive it"))
    hand.tell("received")


def test_a_cassette_deck_whose_owner_declines(hand, later):
    unit = {
        "make": "Aldgate Hifi",
        "model": "CD 11",
        "serial": "31-7",
        "unit.kind": "cassette-deck",
        "unit.supply": "linear",
        "unit.protective_class": "II",
    }
    complaint = {
        "complaint": "Pulls the tape out of its shell.",
        "complaint.symptoms": ["eats-tape"],
        "intake.damage": ["none"],
    }
    receive(hand, unit, complaint, TOLD | COUNTER)
    deck = Practitioner(hand, "cassette deck of class II", later)
    # It gets no other tape before it is looked into.
    deck.answers = {
        "Ask": lambda: deck.button("Nobody knows yet"),
        "Look, smell": lambda: deck.button("Open it without seeing it"),
    }
    deck.follow("Look inside")
    deck.look("Belt perished", "mechanism")
    deck.send_estimate("New belts and a clean transport: the old ones have gone soft.", "2")
    deck.button("No: it goes back as it is")
    hand.tell("declined")
    deck.close("Hand it back unrepaired")
    closed = hand.count
    assert deck.title() == "Tell the customer"
    assert closed.within(DECK), closed


@pytest.fixture
def bench_meter(crew, worker) -> Iterator[Meter]:
    """A meter on the bench that the worker reaches: it shows what `Practitioner` clips it to."""
    with meter(**{VOLTS_ASKED: "0", CELSIUS_ASKED: "0"}) as device:
        made = instrument("Bench meter", VOLTS, CELSIUS, by=crew.owner)
        commands = {"dc-voltage": "", "temperature": ""}
        connecting.save(made, device.resource, 9600, commands, by=crew.owner)
        Connection.objects.filter(instrument=made).update(identity=IDENTITY)
        yield device


def test_a_valve_combo_with_hum(hand, later, bench_meter):
    unit = {
        "make": "Brackwater",
        "model": "Fifty",
        "serial": "50-11",
        "unit.kind": "instrument-combo",
        "unit.year": "1998",
    }
    # The symptom says it all.
    complaint: dict[str, str | list[str]] = {
        "complaint.symptoms": ["hum"],
        "intake.damage": ["none"],
    }
    receive(hand, unit, complaint, TOLD | COUNTER)
    combo = Practitioner(hand, "push-pull valve combo, fixed bias", later)
    combo.meter = bench_meter
    combo.round = lambda: soak_logs.log_soaks(now=timezone.now())
    combo.answers = combo.soak | {
        "A safe place": lambda: combo.button("Done: start it, read by Bench meter"),
        "Try it": lambda: combo.button("The fault showed"),
        "Look inside": lambda: combo.look("Electrolytics aged", "supply"),
        "What was done?": lambda: combo.work("Reservoirs replaced", "supply"),
    }
    combo.close("Release it")
    assert hand.count.within(COMBO), hand.count


def test_an_amplifier_with_a_channel_that_comes_and_goes(hand, later):
    unit = {
        "make": "Mellor and Finch",
        "model": "I 80",
        "serial": "80-4",
        "unit.kind": "integrated-amplifier",
    }
    complaint = {
        "complaint": "The left channel comes and goes.",
        "complaint.symptoms": ["one-channel"],
        "complaint.intermittent": "yes",
        "intake.damage": ["none"],
    }
    arrival = {
        "customer_parcel": "sound",
        "customer_accessories": "remote control",
    }
    told = TOLD | PARCEL | {"customer_address": "Quill Lane 4, 10115 Berlin"}
    receive(hand, unit, complaint, told, arrival)
    amplifier = Practitioner(hand, "class AB integrated amplifier", later)
    amplifier.answers = amplifier.soak | {
        "Try it": amplifier.tries,
        "Look inside": lambda: amplifier.look("Relay contacts abraded", "output-relay"),
    }
    amplifier.follow("What was done?")
    amplifier.send_estimate("A new output relay: its contacts are worn.", "2")
    amplifier.button("Yes: it is agreed")
    relay = "Relay 24 V, two make contacts"
    amplifier.sheet("A part is needed", "Record a part needed", spec=relay)
    amplifier.answers |= {
        "Order it": lambda: amplifier.choose(f"Order it: {relay}"),
        "Has it come": lambda: amplifier.choose("It is here"),
        "Wait for the part": amplifier.sleep,
        "Fit it": lambda: amplifier.choose(f"Fit it: {relay}"),
        "What was done?": lambda: amplifier.work("Relay replaced", "output-relay"),
    }
    amplifier.close("Release it")
    amplifier.tell_them()
    amplifier.ship("North Post", "NP 44 1180")
    assert hand.count.within(AMPLIFIER), hand.count
