from __future__ import annotations

from dataclasses import replace

import pytest
from django.db import IntegrityError, transaction

from checklists import house, published
from checklists.engine.pack import PackError
from checklists.models import HouseEdition
from shop.lib.refusals import Refused
from shop.pages.rules.forms import HouseRuleForm
from shop.reminders import rule_updates
from tests.helpers import amplifier, flat

RULE = {
    "id": "second-look",
    "because": "This maker came back twice.",
    "source": "house rule, common practice",
    "join": "all",
    "fact0": "unit.kind",
    "operation0": "is",
    "value0": "integrated-amplifier",
    "step_title": "Second look at the relay board",
    "step_instruction": "Tap it while it plays.",
    "step_phase": "release",
    "step_gate": "release",
    "step_signal": "CAUTION",
    "step_caution": "Live board.",
}


@pytest.fixture
def owner(client, people):
    client.force_login(people.owner)
    return client


def post(client, act="keep", **changes):
    return client.post("/house-rules/write/", {**RULE, "act": act, **changes})


def test_a_rule_is_written_looked_at_kept_and_published(owner, bench):
    hit = bench.receive(make="Ravelund", facts=amplifier())
    missed = bench.receive(make="Corvenby", facts=amplifier(unit__kind="mixer"))
    unsure = bench.receive(make="Odalvik", facts={})

    looked = post(owner, act="look").content.decode()
    assert "unit.kind == &quot;integrated-amplifier&quot;" in looked
    assert f"Job {hit}: Ravelund" in looked
    assert f"Job {unsure}: Odalvik" in looked
    assert f"Job {missed}: Corvenby" not in looked
    assert "Typical: class AB amplifier of 1988" in looked
    assert not HouseEdition.objects.exists(), "looking keeps nothing"

    assert post(owner)["Location"] == "/house-rules/"
    page = owner.get("/house-rules/").content.decode()
    assert "Draft 1, by owner" in page
    assert "+ house-second-look" in page
    assert "house-second-look" not in bench.traveller(hit).checklist.by_key

    owner.post("/house-rules/publish/")
    step = bench.traveller(hit).checklist.by_key["house-second-look"]
    assert (step.gate, step.step.hold, step.step.caution.signal_word) == (
        "release",
        True,
        "CAUTION",
    )
    assert "house-second-look" not in bench.traveller(missed).checklist.by_key
    assert bench.traveller(unsure).checklist.by_key["house-second-look"].undetermined
    assert "In force" in owner.get("/house-rules/").content.decode()


def test_publishing_keeps_sign_offs_and_takes_mains_where_a_hold_is_added(owner, bench):
    number = bench.receive(facts=amplifier())
    bench.limited(number)
    post(owner, step_gate="first-power", step_phase="first-power")
    assert "has mains: its permit may fall" in owner.get("/house-rules/").content.decode()
    told = owner.post("/house-rules/publish/", follow=True).content.decode()

    assert f"Job {number}: its permit fell. Pull the plug." in told
    assert "1 of 1 open jobs follow" in owner.get("/house-rules/").content.decode()
    assert (bench.job(number).power, bench.job(number).unplug_due) == ("isolated", True)
    assert bench.state(number, "visual-intake") == "signed"
    assert bench.state(number, "house-second-look") == "due"


@pytest.mark.parametrize(
    ("lines", "cel"),
    [
        ([("unit.kind", "is", "mixer")], 'unit.kind == "mixer"'),
        ([("unit.kind", "is-not", "mixer")], 'unit.kind != "mixer"'),
        ([("unit.has_laser", "is", "yes")], "unit.has_laser"),
        ([("unit.has_laser", "is", "no")], "!unit.has_laser"),
        ([("unit.has_laser", "is-not", "yes")], "!unit.has_laser"),
        ([("unit.rail_volts", "above", "42,5")], "unit.rail_volts > 42.5"),
        ([("unit.year", "below", "1990")], "unit.year < 1990"),
        ([("findings", "has", "dust-heavy")], '"dust-heavy" in findings'),
        ([("findings", "has-not", "dust-heavy")], '!("dust-heavy" in findings)'),
        (
            [("unit.year", "is", "1988"), ("unit.kind", "is", "mixer")],
            'unit.year == 1988 && unit.kind == "mixer"',
        ),
        ([], "true"),
    ],
)
def test_lines_become_a_condition(db, lines, cel):
    data = {**RULE, "fact0": "", "operation0": "", "value0": ""}
    for place, (fact, operation, value) in enumerate(lines):
        data |= {f"fact{place}": fact, f"operation{place}": operation, f"value{place}": value}
    form = HouseRuleForm(data, pack=published.pack())
    assert form.is_valid(), form.errors
    assert form.cleaned_data["when"] == cel
    published.with_house_rules(house.with_tables({"rule": [], "step": []}, **form.tables()))


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"value0": "toaster"}, "unit.kind is &#x27;toaster&#x27;; it must be one of"),
        ({"operation0": "above"}, "unit.kind: use is or is not."),
        ({"fact0": "unit.year", "operation0": "above", "value0": "old"}, "a whole number from"),
        ({"fact0": "findings", "operation0": "has", "value0": "x"}, "a list of different words"),
        ({"when": "unit.colour == 1"}, "undeclared reference to &#x27;unit"),
        ({"when": "unit.rail_volts > 60"}, "&lt;input&gt;:1:17: found no matching overload"),
        ({"when": "unit.kind"}, "gives STRING, not BOOL"),
        ({"id": "rail-can-exceed-60-volts"}, "is there already; give it another name"),
        ({"step_title": "", "step_instruction": ""}, "The rule does nothing"),
        ({"step_instruction": ""}, "needs a title and what to do"),
        ({"because": ""}, "This field is required"),
        ({"because": "See {unit.colour}."}, "because: &#x27;unit.colour&#x27; is no fact"),
        (
            {"limit_on": "touch-current/touch_milliamps", "limit_max": "9"},
            "loosens touch-current/touch_milliamps; a shop can only tighten",
        ),
    ],
)
def test_a_fault_is_told_and_what_was_typed_stays(owner, changes, said):
    answer = post(owner, **changes)
    text = answer.content.decode()
    assert answer.status_code == 422
    assert said in text
    assert "This maker came back twice." in text or "because" in changes
    assert not HouseEdition.objects.exists()


def test_a_house_limit_tightens_the_shipped_one(owner, bench):
    number = bench.receive(facts=amplifier())
    limit = {"limit_on": "touch-current/touch_milliamps", "limit_max": "0.25"}
    post(owner, step_title="", step_instruction="", **limit)
    owner.post("/house-rules/publish/")
    reading = bench.step(number, "touch-current").readings[0]
    assert (reading.high, "house rule" in reading.source) == (0.25, True)


def test_a_step_of_the_house_ties_to_a_hazard(owner, bench):
    number = bench.receive(facts=amplifier())
    post(owner, step_hazard="touch-current-not-proved")
    owner.post("/house-rules/publish/")

    checklist = bench.traveller(number).checklist
    assert checklist.by_key["house-second-look"].step.clears == ("touch-current-not-proved",)
    [one] = [o for o in checklist.up if o.hazard.key == "touch-current-not-proved"]
    assert one.hazard.also == ("house-second-look",)


@pytest.mark.parametrize(
    "changes",
    [
        {"step_gate": ""},
        {"step_title": "", "step_instruction": "", "require": ["touch-current"]},
    ],
)
def test_only_a_hold_of_the_house_ties_to_a_hazard(owner, changes):
    answer = post(owner, step_hazard="touch-current-not-proved", **changes)
    assert answer.status_code == 422
    assert "A step of your own that holds a gate ties to a hazard." in answer.content.decode()
    assert not HouseEdition.objects.exists()


def test_a_hazard_that_one_step_of_several_clears_is_not_offered(db):
    plain = published.pack()
    first, *others = plain.hazards
    some = replace(plain, hazards=(replace(first, any_clears=True), *others))
    offered = dict(HouseRuleForm(pack=some).fields["step_hazard"].choices)
    assert first.key not in offered
    assert offered[others[0].key] == others[0].title


def test_rules_come_and_go_in_the_draft(owner):
    post(owner)
    post(owner, id="another", require=["touch-current"], step_title="", step_instruction="")
    assert [rule["id"] for rule in house.draft_or_in_force()["rule"]] == ["second-look", "another"]
    post(owner, because="Rewritten.")
    assert [rule["id"] for rule in house.draft_or_in_force()["rule"]] == ["another", "second-look"]
    owner.post("/house-rules/drop/", {"rule": "second-look"})
    assert house.draft_or_in_force() == {
        "rule": [t for t in house.draft_or_in_force()["rule"] if t["id"] == "another"],
        "step": [],
        "hazard": [],
    }
    owner.post("/house-rules/publish/")
    owner.post("/house-rules/drop/", {"rule": "another"})
    owner.post("/house-rules/publish/")
    assert house.in_force()["rule"] == []
    assert list(HouseEdition.objects.order_by("version").values_list("version", flat=True)) == [
        1,
        2,
    ]


def test_publishing_without_a_draft_is_a_sentence(owner):
    page = owner.post("/house-rules/publish/", follow=True).content.decode()
    assert "There is no draft to publish." in page


def test_the_database_keeps_one_draft(owner, now):
    post(owner)
    with pytest.raises(IntegrityError), transaction.atomic():
        HouseEdition.objects.create(version=9, changed_at=now, changed_by="x")


def test_house_rules_that_can_no_longer_be_read_bar_all_mains(owner, bench, now):
    number = bench.receive(facts=amplifier())
    bench.limited(number)
    HouseEdition.objects.create(
        version=1,
        content={"rule": [{"id": "x", "when": "gone.fact"}]},
        changed_at=now,
        changed_by="x",
        published_at=now,
    )
    published.refresh()

    rule_updates.follow(now=now)
    assert bench.job(number).power == "isolated", "mains off is never in the way"
    bench.power(number, "isolated")
    with pytest.raises(Refused, match="The shop's own rules cannot be read"):
        bench.power(number, "limited")
    assert owner.get("/").status_code == 200
    assert owner.get(f"/jobs/{number}/").status_code == 200


def test_a_draft_that_does_not_fit_is_not_kept(db, now):
    with pytest.raises(PackError):
        house.revise(lambda _: {"rule": [{"id": "x"}], "step": []}, by="x", at=now)
    assert not HouseEdition.objects.exists()


@pytest.mark.parametrize(
    ("when", "said"),
    [
        ("unit.rail_volts > 60", "found no matching overload"),
        ("unit.rail_volts > 60", "                ^"),
        ("unit.rail_volts > 60.0", "It compiles and reads <code>unit.rail_volts</code>."),
        ("true", "reads no fact"),
        ("unit.kind", "gives STRING, not BOOL"),
    ],
)
def test_a_condition_is_checked_while_it_is_typed(owner, when, said):
    answer = owner.post("/house-rules/check/", {"when": when}).content.decode()
    assert said in answer or said in flat(answer)
