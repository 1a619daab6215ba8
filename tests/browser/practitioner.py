"""A practitioner with a phone: does what the card says, and reads what is true of the unit."""

from __future__ import annotations

import re
from collections.abc import Callable
from datetime import timedelta

from django.conf import settings
from playwright.sync_api import Locator, expect

from checklists.engine import bench_units
from checklists.engine.bench_units import Unit
from shop.bench.statistics.intermittent import SHORTEST_TRY_SECONDS
from tests.browser.counting import Hand
from tests.instruments.simulated import Meter

MOST_ACTS = 150
VOLTS_ASKED, CELSIUS_ASKED = "MEAS:VOLT:DC?", "MEAS:TEMP?"
# The meter stands still for two seconds before it is believed, and a process of its own asks it.
_ANSWERED_MILLISECONDS = 20_000


class Stuck(AssertionError):
    """The card does not lead on."""


class Practitioner:
    """Hands, eyes and a meter at one unit. `answers` maps the title of an act to what is done."""

    def __init__(self, hand: Hand, unit: str, later: Callable[[timedelta], None]) -> None:
        self.units = bench_units.read(settings.PACK_FOLDER)
        self.unit: Unit = next(u for u in self.units.healthy if u.name == unit)
        self.hand, self.page, self.later = hand, hand.page, later
        self.true = dict(self.unit.true)
        self.answers: dict[str, Callable[[], None]] = {}
        self.clean_trials = 0
        # A meter that the shop can ask, and what the worker does in its rounds.
        self.meter: Meter | None = None
        self.round: Callable[[], object] = lambda: None
        self.seen_inside = self.worked = False

    @property
    def card(self) -> Locator:
        return self.page.locator("section.act")

    def title(self) -> str:
        return self.page.locator("#act-title").inner_text()

    def button(self, name: str) -> None:
        """Press a button of the card."""
        self.hand.tap(self.card.get_by_role("button", name=name, exact=True))

    def follow(self, until: str) -> None:
        """Do what the card says until it says this."""
        for _ in range(MOST_ACTS):
            title = self.title()
            if title.startswith(until):
                return
            self.one(title)
            self.hand.tell(title)
            if self.page.locator(".refused").count():
                raise self.stuck(self.page.locator(".refused").first.inner_text())
        raise self.stuck("it does not end.")

    def stuck(self, why: str) -> Stuck:
        return Stuck(
            "\n".join([*self.hand.story, f"{self.title()}: {why}", self.card.inner_text()])
        )

    def one(self, title: str) -> None:
        answer = next(
            (done for begins, done in self.answers.items() if title.startswith(begins)), None
        )
        if answer is not None:
            answer()
        elif self.page.locator("#sign-form").count():
            self.sign()
        elif self.card.locator("form.fact").count():
            self.say_fact()
        elif self.card.locator("form.hands button[name=to]").count():
            self.hand.tap(self.card.locator("form.hands button[name=to]"))
        elif self.card.locator(".until").count():
            self.wait()
        else:
            raise self.stuck("nobody knows what to do.")

    def wait(self) -> None:
        """Come back when the time is over: what the card says then is there after a look at it."""
        until = self.card.locator(".until[hx-trigger^='load delay']")
        seconds = str(until.get_attribute("hx-trigger")).partition(":")[2]
        self.later(timedelta(seconds=int(seconds.rstrip("s"))))
        self.round()
        self.look_again(until)

    def look_again(self, said: Locator) -> None:
        """Let the page do at once what it does by itself when its time has come."""
        place = said.get_attribute("hx-get")
        self.page.evaluate("where => htmx.ajax('GET', where, '#traveller')", place)
        self.hand.rest()

    def sleep(self) -> None:
        """Come back on another day."""
        self.later(timedelta(days=1, minutes=1))
        self.hand.reload()

    def sign(self) -> None:
        """Read what is asked, say what is seen, sign."""
        for box in self.page.locator("label.reading").all():
            self.read(box)
        for name, where in self.asked():
            self.say(name, where)
        self.hand.tap(self.card.get_by_role("button", name="Done"))

    def read(self, box: Locator) -> None:
        place = box.locator("input")
        name = str(place.get_attribute("name")).rpartition("reading-")[2]
        if place.input_value() or "optional" in box.locator(".limit").inner_text():
            return
        value = self.units.shown(name, self.true)
        ask = self.page.locator(f"[id^='field-'][id$='-{name}'] button[name=read]")
        if self.meter and ask.count():
            self.ask_meter(ask, place, float(value or 0.0))
            return
        if name == "clean_trials":
            value = self.clean_trials
        if value is None:
            raise self.stuck(f"no meter shows {name}.")
        self.hand.fill(place, f"{value:g}")

    def ask_meter(self, ask: Locator, place: Locator, value: float) -> None:
        """Clip the meter to it, let the page ask, and look at what comes into the field."""
        assert self.meter is not None
        self.meter.answers[VOLTS_ASKED] = f"{value:g}"
        self.hand.tap(ask)
        expect(place).to_have_value(f"{value:g}", timeout=_ANSWERED_MILLISECONDS)

    def asked(self) -> list[tuple[str, Locator]]:
        places = self.page.locator("#sign-form .answer").all()
        names = [p.locator("[name]").first.get_attribute("name") or "" for p in places]
        return list(zip(names, places, strict=True))

    def say(self, name: str, where: Locator) -> None:
        known = self.unit.facts.get(name.rpartition("answer-")[2])
        if known is None:
            raise self.stuck(f"nobody knows {name}.")
        if isinstance(known, list):
            for word in known:
                self.hand.tick(where.locator(f"[value='{word}']"))
        else:
            self.hand.fill(where.locator("[name]"), {True: "yes", False: "no"}.get(known, known))

    def say_fact(self) -> None:
        """Say the fact that the card asks for; nobody knows more than the unit is."""
        form = self.card.locator("form.fact")
        name = form.locator("[name=name]").input_value()
        known = self.unit.facts.get(name)
        if known is None:
            self.button("Nobody knows yet")
            return
        words = {True: "yes", False: "no"}.get(known, known)
        if form.locator("button[name=value]").count():
            self.hand.tap(form.locator(f"button[name=value][value='{words}']"))
            return
        if isinstance(known, list):
            for word in known:
                self.hand.tick(form.locator(f"[value='{word}']"))
        else:
            self.hand.fill(form.locator("[name=value]"), words)
        self.button("Record")

    # What one writes down

    def choose(self, title: str) -> None:
        """Take one of the ways that the card offers."""
        exactly = re.compile(rf"^\s*{re.escape(title)}\s*$")
        self.hand.tap(self.card.locator("a.button, button").filter(has_text=exactly))

    def sheet(self, title: str, button: str, **values: str) -> None:
        """Open a sheet on the card, fill it in and record it."""
        self.choose(title)
        form = self.card.locator(".writing form")
        if section := values.pop("section", ""):
            self.hand.tick(form.locator(f"[name=section][value='{section}']"))
        for name, value in values.items():
            if (place := form.locator(f"[name='{name}']")).input_value() != value:
                self.hand.fill(place, value)
        self.hand.tap(form.get_by_role("button", name=button, exact=True))

    def send_estimate(self, words: str, hours: str) -> None:
        """Write one line of work, as the card proposes it, and send it."""
        page, hand = self.page, self.hand
        hand.tap(self.card.get_by_role("link", name="No price is agreed yet"))
        hand.tap(page.get_by_role("button", name="Draft an estimate"))
        hand.fill(page.locator("[name=words]"), words)
        hand.fill(page.locator("[name$='-0-quantity']"), hours)
        hand.tap(page.get_by_role("button", name="Save and send"))
        hand.tell("estimate sent")

    def look(self, finding: str, section: str) -> None:
        """Write down what is seen inside, and that there is no more."""
        if self.seen_inside:
            self.choose("Nothing more to be found")
            return
        self.seen_inside = True
        self.sheet(finding, "Record it, and that is all there is", section=section)

    def work(self, work: str, section: str) -> None:
        """Write down what was done, and that it is all."""
        if self.worked:
            self.choose("All work is done")
            return
        self.worked = True
        self.sheet(work, "Record it, and all work is done", section=section)

    @property
    def soak(self) -> dict[str, Callable[[], None]]:
        """What is done while it soaks."""
        return {
            "Read the": self.read_soak,
            "The soak is over": self.ran_well,
        }

    def ran_well(self) -> None:
        """Say that it ran well, and that what stands on the card is done."""
        self.hand.tap(self.card.get_by_role("button", name=re.compile("^It ran well")))

    def tries(self) -> None:
        """It shows every time before it is worked on; afterwards a run of clean ones in one go."""
        if not self.worked:
            self.button("The fault showed")
            return
        left = int(self.card.locator("progress").get_attribute("max") or 0)
        self.later(timedelta(seconds=SHORTEST_TRY_SECONDS * left))
        self.hand.fill(self.card.locator("[name=trials]"), left)
        self.clean_trials = left
        self.button("Clean: no fault")

    def read_soak(self) -> None:
        """Read the hottest metal, on the card; the meter that was chosen reads it by itself."""
        value = self.units.shown("sink_celsius", self.true)
        if (said := self.card.locator(".read-by-itself")).count():
            assert self.meter is not None
            self.meter.answers[CELSIUS_ASKED] = f"{value:g}"
            self.round()
            self.look_again(said)
            return
        self.hand.fill(self.card.locator("form.one-value [name=value]"), f"{value:g}")
        self.button("Record the reading")

    def close(self, title: str) -> None:
        """Go on to the last move, and answer what it asks."""
        self.follow(title)
        self.button(title)
        self.hand.tap(self.page.locator(".confirm button.bad"))
        self.hand.tell(f"{title}, sure")

    def tell_them(self) -> None:
        """Ring the customer, and say so."""
        self.hand.tap(self.card.get_by_role("link", name="To the customer's side"))
        self.hand.tap(self.page.get_by_role("button", name="I told").last)
        self.hand.tell("told")

    def ship(self, carrier: str, tracking: str) -> None:
        """Note that the parcel is on its way."""
        page = self.page
        self.hand.tap(self.card.get_by_role("link", name="To the customer's side"))
        self.hand.fill(page.locator("[name=carrier]"), carrier)
        self.hand.fill(page.locator("[name=tracking]"), tracking)
        self.hand.tap(page.get_by_role("button", name="It has left the house"))
        self.hand.tell("shipped")
