"""Random ways through the shop against a small model of what a bench may believe.

The model keeps its own book of sign-offs: it reads `ended_by` from the pack's TOML by itself
and knows nothing of how the engine judges validity. Whatever is recorded, signed or moved, in
no state may a unit have mains while a hold step of its gate is not good in the model's book.
"""

from __future__ import annotations

import os
import tomllib

import hypothesis
import pytest
from django.conf import settings as django_settings
from django.db import transaction
from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    precondition,
    rule,
    run_state_machine_as_test,
)

from checklists import published
from checklists.engine.derive import derive
from checklists.engine.vocabulary import FINDINGS, WORK
from shop.jobs import ledger
from shop.jobs.commands.signing import NotListed
from shop.jobs.models import Job, LedgerRow, Permit
from shop.jobs.stages import Stage
from shop.lib.refusals import BadInput, Refused
from tests.helpers import Bench, amplifier, reading_outside, reading_within

SEQUENCES = int(os.environ.get("BENCHTAG_SEQUENCES", "200"))
STEPS = int(os.environ.get("BENCHTAG_SEQUENCE_STEPS", "14"))
PARTS = 8

UNITS = [
    amplifier(),
    amplifier(unit__kind="valve-amplifier", unit__output_stage="valve-push-pull"),
    amplifier(unit__supply="switch-mode", unit__output_stage="class-d"),
    amplifier(unit__supply=None, unit__rail_volts=None, intake__damage=None),
    {},
]
FACTS = [
    ("unit.supply", "transformerless"),
    ("unit.supply", "linear"),
    ("unit.rail_volts", 420),
    ("unit.mains_volts", 120),
    ("unit.rated_watts", 20),
    ("unit.protective_class", "II"),
    ("unit.output_stage", "valve-single-ended"),
    ("unit.output_stage", "class-ab"),
    ("intake.damage", ["liquid"]),
    ("intake.damage", ["none"]),
    ("unit.fuse_amps", 2),
]
SECTIONS = ["", "supply", "front-panel"]


def ended_by_from_toml() -> dict[str, list[dict]]:
    found = {}
    for file in django_settings.PACK_FOLDER.glob("*.toml"):
        if not file.name.endswith(".cases.toml"):
            for step in tomllib.loads(file.read_text(encoding="utf-8")).get("step", []):
                found[step["key"]] = [
                    {"event": e} if isinstance(e, str) else e for e in step.get("ended_by", [])
                ]
    return found


ENDED_BY = ended_by_from_toml()


class Book:
    """What the model believes: for each step, whether it is good and for which content."""

    def __init__(self) -> None:
        self.good: dict[str, str] = {}
        self.opened = False

    def happened(self, event: str, **detail: str) -> None:
        if event in ("cover_removed", "work_done", "part_fitted"):
            self.opened = True
        for key in list(self.good):
            if any(self._ends(named, event, detail) for named in ENDED_BY[key]):
                del self.good[key]

    @staticmethod
    def _ends(named: dict, event: str, detail: dict[str, str]) -> bool:
        if named["event"] != event:
            return False
        for word in ("work", "finding"):
            if word in named and detail.get(word) not in named[word]:
                return False
        section = detail.get("section", "")
        if section and section in named.get("except_section", ()):
            return False
        return "section" not in named or not section or section in named["section"]

    def missing(self, facts: dict, power: str) -> list[str]:
        """Hold steps of the gates of this power that are not good."""
        gates = {"limited-power" if self.opened else "first-power"}
        gates |= {"full-power"} if power == "full" else set()
        steps = derive(published.pack(), facts).steps
        return [
            s.key
            for s in steps
            if s.step.hold
            and (s.step.gate_once_opened if self.opened and s.step.gate_once_opened else s.gate)
            in gates
            and self.good.get(s.key) != s.content_hash
        ]


class Shop(RuleBasedStateMachine):
    by = None
    runs = 0
    closed = False  # as the invariant last saw it: the draws ask far more often than it changes

    @initialize(unit=st.sampled_from(UNITS))
    def receive(self, unit):
        type(self).runs += 1
        self.bench = Bench(self.by)
        self.number = self.bench.receive(facts=unit, serial="")
        self.book = Book()

    @property
    def job(self) -> Job:
        return Job.objects.get(pk=self.number)

    def facts(self) -> dict:
        return self.bench.traveller(self.number).record.facts

    def attempt(self, act) -> bool:
        try:
            with transaction.atomic():
                act()
        except (Refused, NotListed, BadInput):
            return False
        return True

    def sign_one(self, key, result, readings):
        step = self.bench.traveller(self.number).checklist.by_key.get(key)
        content_hash = step.content_hash if step else ""
        done = self.attempt(
            lambda: self.bench.sign(
                self.number, key, result=result, readings=readings(step), note="model"
            )
        )
        if done:
            outside = readings is outside_readings and any(r.low or r.high for r in step.readings)
            self.book.good.pop(key, None)
            if result == "not-applicable" or (result == "pass" and not outside):
                self.book.good[key] = content_hash

    @rule(
        key=st.sampled_from(sorted(ENDED_BY)),
        result=st.sampled_from(["pass", "pass", "fail", "not-applicable"]),
        inside=st.booleans(),
    )
    def sign(self, key, result, inside):
        self.sign_one(key, result, inside_readings if inside else outside_readings)

    @rule(gate=st.sampled_from(["first-power", "open-up", "limited-power", "full-power", "soak"]))
    def sign_a_gate(self, gate):
        for step in self.bench.traveller(self.number).checklist.unmet(gate):
            self.sign_one(step.key, "pass", inside_readings)

    @rule()
    def go_for_power(self):
        """Sign what the next power asks for and take it: random signing alone seldom gets there."""
        isolated = self.job.power == "isolated"
        self.sign_a_gate(self.bench.power_gate(self.number) if isolated else "full-power")
        self.power("limited" if self.job.power == "isolated" else "full")

    @rule(to=st.sampled_from(["limited", "full"]))
    def power(self, to):
        before = self.job
        wanted = self.book.missing(self.facts(), to)
        done = self.attempt(lambda: self.bench.power(self.number, to))
        if done and before.power != to:
            assert not wanted, f"mains was granted while {wanted} are not good"
            assert (before.power, to) != ("isolated", "full")
            self.book.happened("power_applied")

    @rule()
    def isolate(self):
        self.bench.power(self.number, "isolated")  # must never raise
        assert self.job.power == "isolated"
        assert not self.job.unplug_due

    @rule(to=st.sampled_from(["on", "off"]))
    def cover(self, to):
        before = self.job
        if self.attempt(lambda: self.bench.cover(self.number, to)) and before.cover != to:
            if to == "off":
                assert before.power == "isolated"
            self.book.happened("cover_removed" if to == "off" else "cover_fitted")

    @rule(to=st.sampled_from([s.value for s in Stage if s != Stage.WITHDRAWN]))
    def stage(self, to):
        self.attempt(lambda: self.bench.stage(self.number, to))

    @precondition(lambda self: not self.closed)
    @rule(work=st.sampled_from(WORK), section=st.sampled_from(SECTIONS))
    def work(self, work, section):
        self.bench.record(self.number, "work_done", work=work, section=section)
        self.book.happened("work_done", work=work, section=section)

    @precondition(lambda self: not self.closed)
    @rule(finding=st.sampled_from(FINDINGS))
    def finding(self, finding):
        self.bench.record(self.number, "finding_recorded", finding=finding)
        self.book.happened("finding_recorded", finding=finding)

    @precondition(lambda self: not self.closed)
    @rule(fact=st.sampled_from(FACTS))
    def fact(self, fact):
        self.bench.record(self.number, "fact_recorded", name=fact[0], value=fact[1])
        self.book.happened("fact_recorded")

    @precondition(lambda self: not self.closed)
    @rule(kind=st.sampled_from(["part_needed", "part_arrived", "part_fitted"]))
    def part(self, kind):
        data = {"spec": "relay"} if kind == "part_needed" else {}
        done = self.attempt(lambda: self.bench.record(self.number, kind, **data))
        if done and kind == "part_fitted":
            self.book.happened("part_fitted")

    @precondition(lambda self: not self.closed)
    @rule(fault=st.booleans())
    def trial(self, fault):
        self.bench.record(self.number, "trial_run", fault=fault, conditions=[])

    @invariant()
    def never_energised_without_every_hold_of_its_gate(self):
        if not hasattr(self, "number"):
            return
        job = self.job
        self.closed = job.closed
        if job.power != "isolated":
            assert self.book.missing(self.facts(), job.power) == []
            assert job.stage not in ("released", "withdrawn")
            assert not job.unplug_due

    @invariant()
    def a_live_permit_exactly_while_energised(self):
        if hasattr(self, "number"):
            live = [p.power for p in Permit.objects.filter(job=self.number, ended_at=None)]
            assert live == ([] if self.job.power == "isolated" else [self.job.power])

    def teardown(self):
        if hasattr(self, "number"):
            rows = LedgerRow.objects.filter(job=self.number).order_by("sequence")
            assert ledger.faults(rows, self.job.head) == []


def inside_readings(step):
    return [(r.quantity, reading_within(r)) for r in step.readings] if step else []


def outside_readings(step):
    if step is None:
        return []
    limited = [r for r in step.readings if r.low is not None or r.high is not None]
    return [(r.quantity, reading_outside(r)) for r in limited]


@pytest.mark.django_db
@pytest.mark.random
@pytest.mark.long
@pytest.mark.parametrize("part", range(PARTS))
def test_no_way_through_the_shop_energises_a_unit_whose_holds_do_not_stand(people, part):
    """In parts, each with a seed of its own, so that several workers share them."""
    seed = int(os.environ["BENCHTAG_SEED"]) + part
    print(f"seed {seed}: BENCHTAG_SEED={seed - part} draws the same ways again")
    shop = hypothesis.seed(seed)(type("Shop", (Shop,), {"by": people.technician, "runs": 0}))
    several = -(-SEQUENCES // PARTS)
    run_state_machine_as_test(
        shop,
        settings=settings(
            max_examples=several, stateful_step_count=STEPS, deadline=None, print_blob=True
        ),
    )
    assert shop.runs >= several
