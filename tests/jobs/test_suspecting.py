from __future__ import annotations

import pytest

from checklists.engine import suspects as rules
from checklists.engine.vocabulary import OTHER, VOCABULARY
from checklists.published import current as published_pack
from shop.jobs import suspecting
from shop.jobs.models import JobCause
from tests.helpers import amplifier, flat

pytestmark = pytest.mark.django_db


def search(bench, number):
    here = bench.traveller(number)
    return suspecting.search_of(here.record, here.checklist)


@pytest.fixture
def number(bench):
    return bench.receive(facts=amplifier(complaint__symptoms=["one-channel", "crackle"]))


def keys(views):
    return [one.key for one in views]


# What only one kind of unit does.
OF_A_KIND = {
    "skips": "turntable",
    "no-read": "disc-player",
    "eats-tape": "cassette-deck",
    "speed-wrong": "open-reel-deck",
}


def singles():
    """Facts with one word at a time, and a unit of each kind."""
    for name in ("complaint.symptoms", "complaint.when", "findings", "intake.damage"):
        for word in VOCABULARY[name].words:
            yield amplifier() | {"complaint.symptoms": [], name: [word], "unit.has_laser": True}
    for kind in VOCABULARY["unit.kind"].words:
        for symptom in ("no-output", *OF_A_KIND):
            yield amplifier() | {
                "unit.kind": kind,
                "unit.has_laser": True,
                "complaint.symptoms": [symptom],
            }
    yield amplifier() | {"complaint.intermittent": True}


def test_every_suspect_is_raised_by_something_and_not_by_everything():
    pack = published_pack()
    hit = [{one.suspect.key for one in rules.raised(pack, facts)} for facts in singles()]
    for one in pack.suspects:
        assert any(one.key in found for found in hit), one.key
        assert any(one.key not in found for found in hit), one.key


def test_every_symptom_has_a_suspect():
    pack = published_pack()
    for word in set(VOCABULARY["complaint.symptoms"].words) - {OTHER}:
        facts = amplifier() | {"complaint.symptoms": [word]}
        facts["unit.kind"] = OF_A_KIND.get(word, facts["unit.kind"])
        assert rules.raised(pack, facts), word


def test_what_is_not_known_raises_nothing():
    assert rules.raised(published_pack(), {}) == []


def test_the_order_is_by_chance_per_minute(bench, number):
    found = search(bench, number)
    rates = [one.chance / one.minutes for one in found.open]
    assert rates == sorted(rates, reverse=True)
    assert sum(one.chance for one in found.open) == pytest.approx(1)
    assert found.first.key == "controls-dirty"


def test_a_finding_moves_the_order(bench, number):
    before = {one.key: one.chance for one in search(bench, number).open}
    bench.record(number, "finding_recorded", finding="relay-contacts-oxidised")
    found = {one.key: one for one in search(bench, number).open}
    assert found["output-relay-contacts"].stronger
    assert found["output-relay-contacts"].chance > before["output-relay-contacts"] * 1.5


def test_ruling_out_leaves_the_chance_to_the_others(bench, number):
    before = {one.key: one.chance for one in search(bench, number).open}
    bench.record(number, "suspect_changed", suspect="controls-dirty", change="ruled-out")
    found = search(bench, number)
    assert "controls-dirty" not in keys(found.open)
    assert keys(found.settled) == ["controls-dirty"]
    rest = 1 - before["controls-dirty"]
    for one in found.open:
        assert one.chance == pytest.approx(before[one.key] / rest)


def test_the_title_of_the_pack_means_the_same_suspect(bench, number):
    bench.record(
        number, "suspect_changed", suspect="Contacts of the output relay", change="ruled-out"
    )
    assert keys(search(bench, number).settled) == ["output-relay-contacts"]
    bench.record(number, "suspect_changed", suspect="output-relay-contacts", change="confirmed")
    assert [one.state for one in search(bench, number).settled] == ["confirmed"]


def test_one_named_by_hand_joins_in(bench, number):
    bench.record(number, "suspect_changed", suspect="mouse inside", change="raised")
    by_hand = {one.key: one for one in search(bench, number).open}["mouse inside"]
    assert by_hand.minutes == suspecting.BY_HAND_MINUTES
    assert by_hand.chance > 0


def test_once_confirmed_there_is_nothing_to_test_next(bench, number):
    bench.record(number, "suspect_changed", suspect="cracked-joint", change="confirmed")
    assert search(bench, number).first is None
    assert JobCause.objects.get().suspect == "cracked-joint"
    bench.record(number, "suspect_changed", suspect="cracked-joint", change="ruled-out")
    assert not JobCause.objects.exists()


def released(bench, cause):
    number = bench.receive(facts=amplifier())
    bench.record(number, "suspect_changed", suspect=cause, change="confirmed")
    bench.soak(number)
    bench.power(number, "isolated")
    bench.pass_gate(number, "release")
    bench.stage(number, "released")


def test_closed_jobs_of_this_kind_move_the_chances_and_it_is_said(bench, client, people, number):
    before = {one.key: one.chance for one in search(bench, number).open}
    for _ in range(2):
        released(bench, "cracked-joint")
    found = search(bench, number)
    one = {one.key: one for one in found.open}["cracked-joint"]
    assert (one.times, found.learnt_from) == (2, 2)
    assert one.chance == pytest.approx((10 * before["cracked-joint"] + 2) / 12)
    client.force_login(people.technician)
    page = flat(client.get(f"/jobs/{number}/causes/").content.decode())
    assert "2 earlier jobs of this kind moved the chances" in page
    assert "if it is one fault" in page


def test_open_jobs_and_other_kinds_teach_nothing(bench, number):
    other = bench.receive(facts=amplifier())
    bench.record(other, "suspect_changed", suspect="cracked-joint", change="confirmed")
    assert search(bench, number).learnt_from == 0


def test_ruled_out_by_one_tap(client, people, bench, number):
    client.force_login(people.technician)
    answer = client.post(
        f"/jobs/{number}/record/suspect_changed/",
        {
            "suspect": "controls-dirty",
            "section": "controls",
            "change": "ruled-out",
            "evidence": "clean",
        },
    )
    assert answer.status_code == 302
    assert keys(search(bench, number).settled) == ["controls-dirty"]


def test_the_search_is_over_once_the_unit_is_together_again(client, people, bench, number):
    client.force_login(people.technician)
    assert "Test next:" in client.get(f"/jobs/{number}/causes/").content.decode()
    bench.open_up(number)
    bench.cover(number, "on")
    bench.stage(number, "reassembled")
    assert "Test next:" not in client.get(f"/jobs/{number}/causes/").content.decode()
