"""The stranger's reading finds what is unmet, and says nothing of what is met."""

from __future__ import annotations

import pytest

from tests.outside import reading

TABLE = reading.hazards()
GIVEN = ("visual-intake", "mains-voltage-match", "fuse-check", "limiter-first-power")


def rows(*told):
    numbered = enumerate(told, 1)
    return [{"sequence": place, "kind": kind, "data": data} for place, (kind, data) in numbered]


def signed(key, result="pass"):
    return ("step_signed", {"step": key, "result": result})


def finding(word):
    return ("finding_recorded", {"finding": word})


ALL = [signed(key) for key in GIVEN]


def test_all_signed_is_met():
    assert reading.against_power(rows(*ALL), "limited", TABLE) == []


@pytest.mark.parametrize("key", GIVEN)
def test_one_that_is_missing_failed_or_withdrawn_is_unmet(key):
    others = [signed(other) for other in GIVEN if other != key]
    assert reading.against_power(rows(*others), "limited", TABLE)
    assert reading.against_power(rows(*ALL, signed(key, "fail")), "limited", TABLE)
    gone = ("entry_withdrawn", {"row": len(others) + 1})
    assert reading.against_power(rows(*others, signed(key), gone), "limited", TABLE)


@pytest.mark.parametrize(
    ("event", "step"),
    [
        (finding("fuse-blown"), "fuse-check"),
        (finding("insulation-damaged"), "insulation-made-good"),
        (("work_done", {"work": "mains-wiring-changed"}), "earth-continuity"),
        (("fact_recorded", {"name": "intake.damage", "value": ["dented"]}), "visual-intake"),
        (("power_applied", {"power": "full"}), "limiter-first-power"),
        (("cover_removed", {}), "shorts-before-power"),
    ],
)
def test_what_raises_a_hazard_asks_for_its_step_again(event, step):
    told = reading.against_power(rows(*ALL, event), "limited", TABLE)
    assert any(step in sentence for sentence in told), told
    after = reading.against_power(rows(*ALL, event, signed(step)), "limited", TABLE)
    assert len(after) < len(told)


def test_a_finding_that_holds_full_mains_alone_lets_the_limiter_be():
    burnt = rows(*ALL, finding("resistor-burnt"))
    assert not any("burnt-part" in s for s in reading.against_power(burnt, "limited", TABLE))
    assert any("burnt-part" in s for s in reading.against_power(burnt, "full", TABLE))


def test_a_broken_chain_is_told():
    whole = [
        {"sequence": 1, "previous": "", "hash": "a"},
        {"sequence": 2, "previous": "a", "hash": "b"},
    ]
    assert reading.chain_faults(whole) == []
    assert reading.chain_faults([whole[0], {**whole[1], "previous": "x"}])
    assert reading.chain_faults([whole[1]])


def test_power_is_what_the_last_row_says():
    on, off = ("power_applied", {"power": "full"}), ("power_removed", {})
    assert [reading.power_of(rows(*told)) for told in ((), (on,), (on, off))] == [
        "isolated", "full", "isolated",
    ]  # fmt: skip
