"""A plug that was wrongly recorded as out: saying so takes away, and grants nothing."""

from __future__ import annotations

import pytest
from django.urls import reverse
from django.utils import timezone

from shop.jobs import commands, queries
from shop.lib.refusals import Forbidden, Refused
from tests.helpers import flat


def doubt(bench, job, by=None):
    return commands.doubt_plug(job, by=by or bench.by, at=timezone.now())


@pytest.fixture
def proved_dead(bench, job):
    bench.open_up(job)
    assert bench.state(job, "verify-dead") == "signed"
    return job


def test_the_unit_is_live_until_the_plug_is_recorded_out_again(bench, job):
    bench.limited(job)
    bench.power(job, "isolated")
    assert doubt(bench, job).unplug_due
    with pytest.raises(Refused, match="Pull the plug"):
        bench.power(job, "limited")
    assert bench.traveller(job).next_act(timezone.now()).to == "isolated"
    bench.power(job, "isolated")
    assert not bench.job(job).unplug_due


def test_what_mains_on_ends_has_ended(bench, proved_dead):
    doubt(bench, proved_dead)
    bench.power(proved_dead, "isolated")
    for key in ("verify-dead", "unplugged-lead-in-sight", "discharge-reservoirs"):
        assert bench.state(proved_dead, key) == "ended"
    with pytest.raises(Refused):
        bench.record(proved_dead, "work_done", work="joints-reflowed")


def test_it_ends_what_full_mains_ends_and_leaves_the_rest(bench, proved_dead):
    before = {s.key: s.state for s in bench.traveller(proved_dead).checklist.steps}
    doubt(bench, proved_dead)
    after = {s.key: s.state for s in bench.traveller(proved_dead).checklist.steps}
    granted = {key for key in after if after[key] == "signed" and before.get(key) != "signed"}
    assert granted == set()
    assert after["fuse-check"] == before["fuse-check"]


def test_the_record_that_has_it_as_live_already_says_so(bench, job):
    bench.limited(job)
    with pytest.raises(Refused, match="live already"):
        doubt(bench, job)
    assert bench.job(job).power == "limited"
    bench.power(job, "isolated")
    doubt(bench, job)
    with pytest.raises(Refused, match="live already"):
        doubt(bench, job)


def test_a_page_from_before_it_takes_nothing_down(bench, job):
    bench.limited(job)
    bench.power(job, "isolated")
    seen = bench.job(job).head
    doubt(bench, job)
    with pytest.raises(Refused, match="Nothing was recorded"):
        commands.set_power(job, "isolated", by=bench.by, at=timezone.now(), seen=seen)
    assert bench.job(job).unplug_due


def test_everybody_with_a_role_may_say_it_and_it_cannot_be_withdrawn(people, bench, job):
    with pytest.raises(Forbidden):
        doubt(bench, job, by=people.nobody)
    doubt(bench, job, by=people.viewer)
    with pytest.raises(Refused, match="cannot be withdrawn"):
        bench.record(job, "entry_withdrawn", row=bench.job(job).head, reason="no")


def test_its_ledger_gives_the_same(bench, job):
    doubt(bench, job)
    assert list(queries.ledger_faults()) == []
    bench.power(job, "isolated")
    assert list(queries.ledger_faults()) == []


def test_the_button_stands_where_mains_was_just_recorded_off_and_on_the_list(
    client, people, bench, job
):
    client.force_login(people.technician)
    path, page = reverse("plug", args=[job]), reverse("job", args=[job])
    assert path not in client.get(page).content.decode()
    assert path in client.get(reverse("job-list", args=[job])).content.decode()
    bench.limited(job)
    bench.power(job, "isolated")
    assert path in client.get(page).content.decode()
    text = flat(client.post(path, follow=True).content.decode())
    assert f"{job}: treat it as live." in text
    assert "pull the plug" in text
    assert f'action="{path}"' not in text
