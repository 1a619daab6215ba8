"""Withdraw this: from the ledger, from where one writes, from the unit, a trial, a signed step."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tests.helpers import flat


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


@pytest.fixture
def wrong(bench, job):
    return bench.record(job, "finding_recorded", finding="fuse-blown", section="supply").sequence


def address(job, row):
    return reverse("withdraw-entry", args=[job, row])


def shown(hands, name, *args):
    return hands.get(reverse(name, args=args)).content.decode()


@pytest.mark.parametrize("name", ["ledger", "job-write", "job-unit"])
def test_the_pages_lead_to_it(hands, job, wrong, name):
    assert address(job, wrong) in shown(hands, name, job)


def test_a_trial_and_a_signed_step_lead_to_it_too(hands, bench, job):
    trial = bench.record(job, "trial_run", fault=True).sequence
    assert address(job, trial) in shown(hands, "trials", job)
    bench.sign(job, "visual-intake")
    signed = bench.job(job).head
    assert address(job, signed) in shown(hands, "step", job, "visual-intake")


def test_what_cannot_be_withdrawn_offers_nothing(hands, bench, job):
    bench.clear(job, "limited")
    bench.power(job, "limited")
    on = bench.job(job).ledger.get(event_type="power_applied").sequence
    assert address(job, on) not in shown(hands, "ledger", job)
    text = flat(shown(hands, "withdraw-entry", job, on))
    assert "It tells what was so, and cannot be withdrawn." in text
    assert '<textarea id="reason"' not in text


def test_it_is_withdrawn_with_a_reason_and_one_is_back_where_one_was(hands, bench, job, wrong):
    unit = reverse("job-unit", args=[job])
    page = hands.get(address(job, wrong), headers={"Referer": f"http://testserver{unit}"})
    assert f'name="back" value="{unit}"' in page.content.decode()
    sent = {"reason": "of the other amplifier", "back": unit}
    answer = hands.post(address(job, wrong), sent)
    assert answer["Location"] == unit
    assert bench.traveller(job).record.findings == []
    assert "Withdrawn: Found" in flat(hands.get(unit).content.decode())
    assert address(job, wrong) not in shown(hands, "ledger", job)


def test_no_reason_is_refused_and_what_was_typed_is_kept(hands, bench, job, wrong):
    answer = hands.post(address(job, wrong), {"reason": " "})
    assert answer.status_code == 422
    assert bench.traveller(job).record.findings == ["fuse-blown"]
    bench.limited(job)
    bench.record(job, "finding_recorded", finding="fuse-wrong")
    assert bench.job(job).unplug_due
    answer = hands.post(address(job, wrong), {"reason": "of the other one"})
    assert answer.status_code == 409
    assert "of the other one" in answer.content.decode()
    assert "Pull the plug" in answer.content.decode()


def test_a_way_back_to_another_site_is_not_taken(hands, job, wrong):
    sent = {"reason": "wrong", "back": "https://elsewhere.example/x"}
    assert hands.post(address(job, wrong), sent)["Location"] == reverse("job", args=[job])


def test_a_row_that_is_none_is_404_and_who_only_reads_is_refused(client, people, hands, job, wrong):
    assert hands.get(address(job, 4711)).status_code == 404
    client.force_login(people.viewer)
    assert client.get(address(job, wrong)).status_code == 403
    assert "withdraw/" not in shown(client, "ledger", job)
