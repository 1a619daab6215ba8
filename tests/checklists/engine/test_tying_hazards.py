from __future__ import annotations

import pytest

from checklists import published
from checklists.engine.derive import derive
from checklists.engine.history import Event, History
from tests.checklists.engine.packs import hazard, hold, load, rule

BENCH = 'scope = "bench"'


def ended(pack, key, *events):
    """Tell whether events after its sign-off end it."""
    content_hash = derive(pack, {}).by_key[key].content_hash
    row = {"step": key, "result": "pass", "content_hash": content_hash}
    history = History.of([Event(sequence=1, event_type="step_signed", **row), *events])
    return derive(pack, {}, history).by_key[key].state == "ended"


def then(kind, **more):
    return Event(sequence=2, event_type=kind, **more)


def ends_of(pack, key):
    return [trigger.sentence() for trigger in pack.steps[key].invalidated_by]


class TestDerivedEnds:
    def pack(self, folder):
        return load(
            folder,
            rule("r", "true", "a", "b", "own"),
            hold("a", more='ended_by = ["cover_fitted"]'),
            hold("b"),
            hold("own", more='clears = ["burnt"]'),
            hazard("live", "a", "hands", more='raised_by = ["power_applied"]'),
            hazard("burnt", '["a", "b"]', "full", more='raised_by = ["work_done", "received"]'),
        )

    def test_what_raises_a_hazard_ends_each_of_its_steps(self, tmp_path):
        pack = self.pack(tmp_path)
        assert ends_of(pack, "b") == ["work_done", "received"]
        assert ended(pack, "b", then("work_done"))
        assert not ended(pack, "b", then("power_applied", power="limited"))

    def test_a_step_of_several_hazards_ends_by_each_and_by_its_own_word(self, tmp_path):
        assert ends_of(self.pack(tmp_path), "a") == [
            "cover_fitted",
            "power_applied",
            "work_done",
            "received",
        ]

    def test_a_step_of_the_shop_ends_like_those_beside_it(self, tmp_path):
        pack = self.pack(tmp_path)
        assert ends_of(pack, "own") == ["work_done", "received"]
        assert ended(pack, "own", then("received"))

    def test_a_step_knows_its_hazards_and_a_hazard_the_steps_of_the_shop(self, tmp_path):
        pack = self.pack(tmp_path)
        assert pack.steps["a"].hazards == {"live", "burnt"}
        assert pack.steps["soak"].hazards == frozenset()
        assert [h.also for h in pack.hazards] == [(), ("own",)]
        assert [h.key for h in pack.hazards_cleared_by("own")] == ["burnt"]

    def test_what_another_job_left_up_ends_the_step_that_clears_it(self, tmp_path):
        pack = self.pack(tmp_path)
        joined = then("jobs_joined", carried=frozenset({"live"}))
        assert ended(pack, "a", joined)
        assert not ended(pack, "b", joined)


class TestBenchScope:
    def pack(self, folder):
        return load(
            folder, rule("r", "true", "bench", "unit"), hold("bench", more=BENCH), hold("unit")
        )

    @pytest.mark.parametrize(
        "event",
        [
            then("received"),
            then("cover_removed"),
            then("cover_fitted"),
            then("work_done", work="joints-reflowed"),
            then("work_done", work="fuse-replaced", from_outside=True),
            then("part_fitted"),
            then("night_passed"),
            then("stage_changed", stage="awaiting_parts"),
        ],
        ids=lambda event: f"{event.event_type} {event.work or event.stage}",
    )
    def test_the_set_up_is_looked_at_again(self, tmp_path, event):
        pack = self.pack(tmp_path)
        assert ended(pack, "bench", event)
        assert not ended(pack, "unit", event)

    @pytest.mark.parametrize(
        "events",
        [
            (then("power_applied", power="limited"), then("power_removed")),
            (then("power_applied", power="full"),),
            (then("stage_changed", stage="opened"),),
            (then("finding_recorded", finding="dust-heavy"),),
            (then("note_added"),),
        ],
        ids=lambda events: events[0].event_type,
    )
    def test_a_power_cycle_alone_leaves_it(self, tmp_path, events):
        assert not ended(self.pack(tmp_path), "bench", *events)


def test_full_ends_the_limiter_and_a_power_cycle_on_it_does_not():
    [step] = [s for s in published.pack().steps.values() if s.key == "limiter-first-power"]
    full, limited = (then("power_applied", power=power) for power in ("full", "limited"))
    assert any(trigger.applies_to(full) for trigger in step.invalidated_by)
    assert not any(trigger.applies_to(limited) for trigger in step.invalidated_by)


@pytest.mark.parametrize(
    ("scope", "meets", "whole"),
    [
        ("", "limited", {"limited", "leave", "hand-back"}),
        ("", "full", {"full", "leave"}),
        ("", "unattended", {"unattended", "leave"}),
        ("", "hands", {"hands"}),
        ("", "live", {"live"}),
        ("", "cover-off", {"cover-off"}),
        (BENCH, "limited", {"limited"}),
    ],
)
def test_a_danger_of_the_unit_under_mains_leaves_with_it(tmp_path, scope, meets, whole):
    step_ = hold("a", "release", scope)
    pack = load(tmp_path, rule("r", "true", "a"), step_, hazard("h", "a", meets))
    assert pack.hazards[0].meets == whole


def test_a_hazard_of_which_one_step_is_of_the_unit_is_of_the_unit(tmp_path):
    steps = (hold("a", "release", BENCH), hold("b", "release"))
    mixed = hazard("h", '["a", "b"]', "limited")
    pack = load(tmp_path, rule("r", "true", "a", "b"), *steps, mixed)
    assert "leave" in pack.hazards[0].meets
