from __future__ import annotations

import pytest

from checklists.engine import exposures
from checklists.engine.derive import derive
from checklists.engine.history import Event, History
from checklists.engine.words import EXPOSURES
from tests.checklists.engine.packs import hazard, hold, load, rule

CLOSED = History()
OPENED = History.of([Event(sequence=1, event_type="cover_removed")])


def met(pack, exposure, history=CLOSED, facts=None):
    checklist = derive(pack, facts or {}, history)
    return [hindrance.step.key for hindrance in exposures.against(exposure, checklist)]


def signed(pack, *keys, history=CLOSED, facts=None, first=10):
    """Return the history with these steps passed."""
    listed = derive(pack, facts or {}, history).by_key
    rows = [
        Event(
            sequence=first + n,
            event_type="step_signed",
            step=key,
            result="pass",
            content_hash=listed[key].content_hash,
        )
        for n, key in enumerate(keys)
    ]
    return History.of([*history.events, *rows])


GATES = [
    ("cover-off", "open-up", CLOSED),
    ("hands", "hands-in", OPENED),
    ("limited", "first-power", CLOSED),
    ("limited", "limited-power", OPENED),
    ("full", "full-power", OPENED),
    ("unattended", "soak", CLOSED),
    ("leave", "soak", CLOSED),
    ("leave", "release", CLOSED),
    ("hand-back", "hand-back", CLOSED),
]


@pytest.mark.parametrize(("exposure", "gate", "history"), GATES)
def test_each_exposure_asks_the_holds_of_its_gate(tmp_path, exposure, gate, history):
    pack = load(tmp_path, rule("r", "true", "a"), hold("a", gate))
    assert met(pack, exposure, history) == ["a"]
    assert met(pack, exposure, signed(pack, "a", history=history)) == []


@pytest.mark.parametrize("exposure", EXPOSURES)
def test_each_exposure_asks_no_hold_of_another_gate(tmp_path, exposure):
    own = {gate for other, gate, _ in GATES if other == exposure}
    # What a shop of its own asks before mains is asked again at full, and when it leaves.
    earlier = {"full": {"first-power"}, "leave": {"first-power", "full-power"}}
    foreign = sorted({gate for _, gate, _ in GATES} - own - earlier.get(exposure, set()))
    steps = [hold(f"at-{gate}", gate) for gate in foreign]
    pack = load(tmp_path, rule("r", "true", *(f"at-{gate}" for gate in foreign)), *steps)
    assert len(derive(pack, {}).steps) == len(foreign) > 0
    assert met(pack, exposure) == []


@pytest.mark.parametrize("exposure", EXPOSURES)
def test_each_exposure_asks_the_hazards_that_meet_it(tmp_path, exposure):
    raised = 'on_arrival = true\nraised_by = ["received"]'
    came = History.of([Event(sequence=1, event_type="received")])
    pack = load(
        tmp_path,
        rule("r", "true", "a", "b"),
        hold("a", "release"),
        hold("b", "release", 'scope = "bench"'),
        hazard("met", "a", exposure, more=raised),
        hazard("elsewhere", "b", "leave" if exposure == "cover-off" else "cover-off", more=raised),
    )
    checklist = derive(pack, {}, came)
    by_hazards = exposures.by_hazards(exposure, checklist)
    assert [(h.step.key, h.hazard.hazard.key) for h in by_hazards] == [("a", "met")]
    cleared = derive(pack, {}, signed(pack, "a", history=came))
    assert exposures.by_hazards(exposure, cleared) == []


@pytest.mark.parametrize("exposure", ["limited", "full"])
def test_some_hazards_meet_more_once_a_step_that_clears_them_has_failed(tmp_path, exposure):
    more = 'on_arrival = true\nmeets_failed = ["limited"]'
    pack = load(
        tmp_path,
        rule("r", "true", "a", "b"),
        hold("a", "release"),
        hold("b", "release"),
        hazard("earth", '["a", "b"]', "leave", more=more),
    )
    failed = Event(sequence=2, event_type="step_signed", step="a", result="fail")
    assert met(pack, exposure) == []
    asked = ["a", "b"] if exposure == "limited" else []
    assert met(pack, exposure, History.of([failed])) == asked
    once_more = signed(pack, "a", "b", history=History.of([failed]))
    assert met(pack, exposure, once_more) == []


def test_a_step_that_gate_and_hazard_ask_is_told_once_with_its_hazard(tmp_path):
    pack = load(
        tmp_path,
        rule("r", "true", "late", "a"),
        hold("a", "open-up"),
        hold("late", "open-up", 'after = ["a"]'),
        hazard("live", "a", "cover-off"),
    )
    found = exposures.against("cover-off", derive(pack, {}))
    assert [(h.step.key, h.hazard is not None) for h in found] == [("a", True), ("late", False)]


@pytest.mark.parametrize("exposure", ["limited", "full", "unattended"])
def test_a_danger_of_the_unit_under_mains_is_one_when_it_leaves(tmp_path, exposure):
    pack = load(tmp_path, rule("r", "true", "a"), hold("a"), hazard("short", "a", exposure))
    assert met(pack, "leave") == ["a"]


@pytest.mark.parametrize("exposure", ["cover-off", "hands", "live"])
def test_a_danger_to_the_hand_inside_stays_in_the_shop(tmp_path, exposure):
    pack = load(
        tmp_path, rule("r", "true", "a"), hold("a", "hands-in"), hazard("sharp", "a", exposure)
    )
    assert met(pack, "leave") == []


def test_a_danger_of_the_set_up_stays_in_the_shop(tmp_path):
    bench = hold("a", "first-power", 'scope = "bench"')
    pack = load(tmp_path, rule("r", "true", "a"), bench, hazard("no-limiter", "a", "limited"))
    assert met(pack, "limited") == ["a"]
    assert met(pack, "leave") == []


class TestFull:
    PARTS = (
        rule("r", "true", "limiter", "own"),
        hold("limiter", "first-power", 'gate_once_opened = "limited-power"\nscope = "bench"'),
        hold("own", "first-power", 'gate_once_opened = "limited-power"'),
        hazard("no-limiter", "limiter", "limited"),
    )

    @pytest.mark.parametrize("history", [CLOSED, OPENED])
    def test_full_does_not_ask_the_limiter_that_comes_out(self, tmp_path, history):
        pack = load(tmp_path, *self.PARTS)
        assert met(pack, "limited", history) == ["limiter", "own"]
        assert met(pack, "full", history) == ["own"], "a shop's own hold is asked again"

    def test_leaving_asks_a_shop_s_own_holds_of_every_gate_of_mains(self, tmp_path):
        own_full = hold("own-full", "full-power")
        pack = load(tmp_path, *self.PARTS, rule("f", "true", "own-full"), own_full)
        assert met(pack, "leave") == ["own", "own-full"]
        assert met(pack, "leave", signed(pack, "own", "own-full")) == []

    def test_a_hold_that_clears_a_hazard_is_asked_where_that_does_harm(self, tmp_path):
        tied = hazard("short", "own", "limited")
        pack = load(tmp_path, *self.PARTS, tied)
        assert met(pack, "full") == []


class TestHandBack:
    FOUND = History.of([Event(sequence=1, event_type="finding_recorded", finding="fuse-wrong")])

    def pack(self, folder):
        return load(
            folder,
            rule("r", "true", "a", "b", "unusable"),
            hold("a"),
            hold("b"),
            hazard("found", "a", "limited", more='raised_by = ["finding_recorded"]'),
            hazard("came-with-it", "b", "limited"),
        )

    def test_a_unit_goes_back_as_it_came(self, tmp_path):
        assert met(self.pack(tmp_path), "hand-back") == []

    def test_what_is_known_or_was_done_since_is_cleared(self, tmp_path):
        pack = self.pack(tmp_path)
        assert met(pack, "hand-back", self.FOUND) == ["a"]
        assert met(pack, "hand-back", signed(pack, "a", history=self.FOUND)) == []

    def test_or_the_unit_is_made_unusable(self, tmp_path):
        pack = self.pack(tmp_path)
        assert met(pack, "hand-back", signed(pack, "unusable", history=self.FOUND)) == []
        assert met(pack, "leave", signed(pack, "unusable", history=self.FOUND)) != []


class TestLasting:
    def pack(self, folder):
        return load(
            folder,
            rule("r", "true", "papers", "guard", "agree"),
            hold("papers", "soak"),
            hold("guard", "soak"),
            hold("agree", "soak"),
            hazard("fire", "guard", "unattended"),
            hazard("unagreed", "agree", "unattended", possible="job.beyond_agreed"),
        )

    def test_a_soak_that_runs_is_asked_for_what_is_dangerous_alone(self, tmp_path):
        pack = self.pack(tmp_path)
        assert set(met(pack, "unattended")) == {"papers", "guard", "agree"}
        lasting = exposures.lasting(["unattended"], derive(pack, {}))
        assert [h.step.key for h in lasting] == ["guard"]

    def test_every_other_exposure_is_asked_for_all_of_it_while_it_lasts(self, tmp_path):
        pack = load(
            tmp_path,
            rule("r", "true", "own", "a"),
            hold("own", "first-power"),
            hold("a", "first-power"),
            hazard("short", "a", '["limited", "live"]'),
        )
        lasting = exposures.lasting(["limited", "live"], derive(pack, {}))
        assert [h.step.key for h in lasting] == ["own", "a"]
        ready = derive(pack, {}, signed(pack, "own", "a"))
        assert exposures.lasting(["limited", "live"], ready) == []


@pytest.mark.parametrize(
    ("power", "cover_off", "soaking", "lasts"),
    [
        ("isolated", False, False, ()),
        ("isolated", True, True, ()),
        ("limited", False, False, ("limited",)),
        ("limited", True, False, ("limited", "live")),
        ("full", False, False, ("full",)),
        ("full", False, True, ("full", "unattended")),
        ("full", True, True, ("full", "live", "unattended")),
    ],
)
def test_what_lasts_while_mains_is_on(power, cover_off, soaking, lasts):
    assert exposures.of_power(power, cover_off=cover_off, soaking=soaking) == lasts
