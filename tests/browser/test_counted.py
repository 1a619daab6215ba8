"""Three units through the whole job on a phone, as a person would: what it costs is counted.

The same three units cost in the first shop, counted by hand: 216 taps, 132 fields and 103 page
loads for the amplifier, 101, 42 and 23 for the combo, 53, 39 and 22 for the deck. The limits are
half of that where it is met. `-s` prints what each card costs.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from tests.browser.conftest import MOST_PIXELS, PHONE
from tests.browser.counting import Count, Hand
from tests.browser.practitioner import Practitioner

pytestmark = [
    pytest.mark.browser_context_args(viewport=PHONE, is_mobile=True, has_touch=True),
    pytest.mark.usefixtures("crew", "live_server"),
]

AMPLIFIER = Count(108, 66, 51)
# Half is 50 taps and 21 fields; most of its fields are readings off a meter, nine of them in the soak.
COMBO = Count(64, 37, 11)
DECK = Count(26, 19, 11)

PARTS = ("complaint", "customer", "arrival", "")
TOLD = {"customer_name": "Ada Quill", "customer_phone": "+49 30 5550 118"}


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
    for following, values in zip(PARTS, parts, strict=True):
        for name, value in values.items():
            if isinstance(value, list):
                for word in value:
                    hand.tick(page.locator(f"form.receive [name='{name}'][value='{word}']"))
            else:
                hand.fill(page.locator(f"form.receive [name='{name}']"), value)
        if following:
            hand.tap(page.get_by_role("button", name=f"Next: {following}"))
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
    receive(hand, unit, complaint, TOLD, {"customer_came_by": "counter"})
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


def test_a_valve_combo_with_hum(hand, later):
    unit = {
        "make": "Brackwater",
        "model": "Fifty",
        "serial": "50-11",
        "unit.kind": "instrument-combo",
    }
    complaint = {"complaint": "Hums.", "complaint.symptoms": ["hum"], "intake.damage": ["none"]}
    receive(hand, unit, complaint, TOLD, {"customer_came_by": "counter"})
    combo = Practitioner(hand, "push-pull valve combo, fixed bias", later)
    combo.answers = combo.soak | {
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
        "customer_came_by": "parcel",
        "customer_parcel": "sound",
        "customer_accessories": "remote control",
    }
    told = TOLD | {"customer_address": "Quill Lane 4, 10115 Berlin"}
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
