"""A published edition reaches units with mains in the same transaction, without any worker."""

from __future__ import annotations

import pytest
from django.utils import timezone

from checklists import house
from checklists.models import HouseEdition
from shop.jobs import commands
from shop.lib.refusals import Refused
from shop.pages.rules import publishing
from tests.helpers import amplifier

STEP = {
    "key": "house-look",
    "title": "Look again",
    "instruction": "Look at it again.",
    "phase": "first-power",
    "gate": "first-power",
    "gate_once_opened": "limited-power",
    "hold": True,
    "source": "common practice",
}
RULE = {
    "id": "house-look",
    "when": 'unit.kind == "integrated-amplifier"',
    "require": ["house-look"],
    "because": "The house wants it.",
    "source": "common practice",
}


@pytest.fixture
def draft(db):
    change = lambda content: house.with_tables(content, rule=RULE, step=STEP)  # noqa: E731
    return house.revise(change, by="olga", at=timezone.now())


def publish():
    return publishing.publish(by="olga", at=timezone.now())


@pytest.mark.usefixtures("draft")
def test_mains_falls_with_the_edition_and_no_other_mains(bench):
    hit = bench.receive(make="Ravelund", facts=amplifier())
    missed = bench.receive(make="Corvenby", facts=amplifier(unit__kind="cassette-deck"))
    isolated = bench.receive(make="Odalvik", facts=amplifier())
    bench.limited(hit)
    bench.limited(missed)

    done = publish()

    assert (done.fell, done.failed) == ([hit], [])
    assert (bench.job(hit).power, bench.job(hit).unplug_due) == ("isolated", True)
    assert bench.job(missed).power == "limited"
    assert bench.job(missed).pack_digest == bench.job(hit).pack_digest
    assert bench.job(isolated).pack_digest != bench.job(hit).pack_digest, "it follows by the clock"


@pytest.mark.usefixtures("draft")
def test_a_job_that_cannot_be_tried_is_named_and_the_others_follow(bench, monkeypatch):
    bad = bench.receive(make="Ravelund", facts=amplifier())
    good = bench.receive(make="Corvenby", facts=amplifier())
    bench.limited(bad)
    bench.limited(good)
    real = commands.refresh

    def sometimes(number, *, at):
        if number == bad:
            raise RuntimeError("a bad row")
        return real(number, at=at)

    monkeypatch.setattr(publishing.commands, "refresh", sometimes)
    done = publish()

    assert (done.fell, done.failed) == ([good], [bad])
    assert house.draft() is None, "one bad row does not keep the rules from the others"


def test_nothing_falls_where_there_is_no_draft(bench):
    number = bench.receive(facts=amplifier())
    bench.limited(number)
    with pytest.raises(house.NothingToPublish):
        publish()
    assert bench.job(number).power == "limited"


def published_elsewhere():
    """Another process publishes; this one does not hear of it."""
    HouseEdition.objects.create(
        version=1,
        content={"rule": [RULE], "step": [STEP]},
        changed_at=timezone.now(),
        published_at=timezone.now(),
    )


@pytest.mark.usefixtures("steady_rules")
class TestOtherProcesses:
    def test_a_write_to_a_job_with_mains_looks_for_a_new_edition(self, bench):
        number = bench.receive(facts=amplifier())
        bench.limited(number)
        published_elsewhere()

        bench.record(number, "note_added", text="The lamp goes dim.")

        job = bench.job(number)
        assert (job.power, job.unplug_due) == ("isolated", True)
        assert "house-look" not in bench.traveller(number).checklist.by_key, "pages may lag"

    def test_a_write_to_a_job_without_mains_does_not(self, bench):
        number = bench.receive(facts=amplifier())
        before = bench.job(number).pack_digest
        published_elsewhere()
        bench.record(number, "note_added", text="On the shelf.")
        assert bench.job(number).pack_digest == before

    def test_mains_comes_on_under_the_rules_of_this_moment(self, bench):
        number = bench.receive(facts=amplifier())
        bench.limited(number)
        bench.power(number, "isolated")
        published_elsewhere()

        with pytest.raises(Refused) as no:
            bench.power(number, "limited")

        assert "Look again" in str(no.value)
        assert bench.job(number).power == "isolated"

    def test_mains_goes_off_whatever_was_published(self, bench):
        number = bench.receive(facts=amplifier())
        bench.limited(number)
        published_elsewhere()
        job = bench.power(number, "isolated")
        assert (job.power, job.unplug_due) == ("isolated", False)
