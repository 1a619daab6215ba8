from __future__ import annotations

import re

import pytest
from django.urls import reverse
from django.utils import timezone

from shop.instruments.models import Request
from shop.jobs.models import LedgerRow
from shop.lib.refusals import BadInput, Forbidden, Refused
from shop.meters import free_readings

pytestmark = pytest.mark.django_db
SCRIPTS = ["Schiene +", "Шина", "ράγα", "電源", "מתח", "वोल्ट"]


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


def page(job):
    return reverse("job-meter", args=[job])


def press(hands, job, instrument, measures="dc-voltage"):
    return hands.post(page(job), {"read": f"{measures}:{instrument.pk}"})


def last(job):
    return LedgerRow.objects.filter(job=job).order_by("sequence").last()


def test_it_is_read_looked_at_and_recorded_under_a_name(hands, live, connected, answer):
    instrument = connected()
    where = press(hands, live, instrument)["Location"]
    assert "Look again" in hands.get(where).content.decode()
    answer(0.0123)
    html = hands.get(where).content.decode()
    assert "12.3\u00a0mV" in html
    asked = re.search(r'name="asked" value="(\d+)"', html)[1]
    assert last(live).event_type != "reading_taken"
    assert hands.post(page(live), {"asked": asked, "name": "rail ripple"}).status_code == 302
    row = last(live)
    assert (row.event_type, row.data["quantity"]) == ("reading_taken", "rail ripple")
    assert (row.data["value"], row.data["unit"]) == (0.0123, "V")
    assert row.data["source"].startswith("Bench meter, ±")


@pytest.mark.parametrize("name", SCRIPTS)
def test_a_name_in_any_script(live, bench, connected, answer, name):
    made = free_readings.ask(live, "dc-voltage", connected().pk, by=bench.by, at=timezone.now())
    answer(1.0)
    made.refresh_from_db()
    free_readings.record(bench.job(live), made, name, by=bench.by, at=timezone.now())
    assert last(live).data["quantity"] == name


def test_without_a_name_nothing_is_lost(hands, live, connected, answer):
    where = press(hands, live, connected())["Location"]
    answer(1.0)
    asked = where.rpartition("=")[2]
    answer_ = hands.post(page(live), {"asked": asked, "name": " "})
    assert answer_.status_code == 422
    assert "Record the reading" in answer_.content.decode()


def test_one_reading_is_recorded_once(live, bench, connected, answer):
    made = free_readings.ask(live, "dc-voltage", connected().pk, by=bench.by, at=timezone.now())
    answer(1.0)
    made.refresh_from_db()
    free_readings.record(bench.job(live), made, "x", by=bench.by, at=timezone.now())
    with pytest.raises(Refused, match="in the record already"):
        free_readings.record(bench.job(live), made, "x", by=bench.by, at=timezone.now())


@pytest.mark.parametrize("measures", ["dc-voltage", "ac-voltage", "resistance", "dc-current"])
def test_with_mains_off_a_still_zero_is_no_reading(job, bench, connected, measures):
    with pytest.raises(Refused, match="reads a still 0"):
        free_readings.ask(job, measures, connected().pk, by=bench.by, at=timezone.now())


def test_a_temperature_is_read_at_any_time(job, bench, connected):
    free_readings.ask(job, "temperature", connected().pk, by=bench.by, at=timezone.now())
    assert Request.objects.get().measures == "temperature"


def test_a_tester_is_never_asked(live, bench, connected):
    for measures in ("insulation-resistance", "leakage-current", "earth-resistance", ""):
        with pytest.raises(BadInput):
            free_readings.ask(
                live, measures, connected(measures).pk, by=bench.by, at=timezone.now()
            )


def test_who_may_not_record_may_not_ask(live, people, connected):
    with pytest.raises(Forbidden):
        free_readings.ask(live, "dc-voltage", connected().pk, by=people.desk, at=timezone.now())


def test_that_of_another_job_is_not_recorded_here(hands, live, bench, connected, answer):
    where = press(hands, live, connected())["Location"]
    answer(1.0)
    other = bench.receive()
    asked = where.rpartition("=")[2]
    refused = hands.post(page(other), {"asked": asked, "name": "x"})
    assert refused.status_code == 422
    assert "names no reading of this job" in refused.content.decode()


def test_for_the_soak_that_runs(bench, people, connected, answer, client, job):
    bench.open_up(job)
    bench.to_soak(job)
    bench.record(job, "soak_started")
    made = free_readings.ask(job, "dc-voltage", connected().pk, by=bench.by, at=timezone.now())
    answer(0.0123)
    made.refresh_from_db()
    client.force_login(people.technician)
    html = client.get(f"{page(job)}?asked={made.pk}").content.decode()
    assert 'name="as" value="offset_millivolts"' in html
    client.post(page(job), {"asked": made.pk, "as": "offset_millivolts", "name": ""})
    row = last(job)
    assert (row.event_type, row.data["value"], row.data["unit"]) == ("soak_reading", 12.3, "mV")


def test_the_tile_stands_where_an_instrument_is_connected(hands, live, connected):
    write = reverse("job-write", args=[live])
    assert "Reading of a meter" not in hands.get(write).content.decode()
    connected()
    assert "Reading of a meter" in hands.get(write).content.decode()


@pytest.mark.parametrize("given", [{}, {"read": ""}, {"read": "x:y"}, {"read": "dc-voltage:4711"},
                                   {"asked": "x", "name": "x"}])  # fmt: skip
def test_what_is_no_button_of_the_page_is_told(hands, live, given):
    assert hands.post(page(live), given).status_code == 422
