from __future__ import annotations

import json
import logging

import pytest
from django.conf import settings as django_settings
from prometheus_client.parser import text_string_to_metric_families

from tests.helpers import amplifier

pytestmark = pytest.mark.django_db


def figures(client, **headers):
    answer = client.get("/metrics", headers=headers)
    assert answer.status_code == 200
    return {
        (sample.name, *sample.labels.values()): sample.value
        for family in text_string_to_metric_families(answer.content.decode())
        for sample in family.samples
    }


def test_the_monitor_reads_the_shop(client, settings, bench):
    settings.METRICS_TOKEN = "m0nitor"
    number = bench.receive(facts=amplifier())
    bench.limited(number)
    bench.receive(facts=amplifier())
    found = figures(client, authorization="Bearer m0nitor")
    assert found["benchtag_jobs_open", "received"] == 2
    assert found["benchtag_units_energised",] == 1
    assert found["benchtag_letters_waiting",] == 0
    assert found["benchtag_jobs_behind_rules",] == 0


@pytest.mark.parametrize("sent", ["", "Bearer wrong", "Bearer "])
def test_strangers_read_nothing(client, settings, sent):
    settings.METRICS_TOKEN = "m0nitor"
    assert client.get("/metrics", headers={"authorization": sent}).status_code == 401
    settings.METRICS_TOKEN = ""
    assert client.get("/metrics", headers={"authorization": sent}).status_code == 401


def test_somebody_signed_in_reads_it(client, people):
    client.force_login(people.viewer)
    assert ("benchtag_parcels_late",) in figures(client)


def test_the_queries_do_not_grow(client, people, bench, steady_rules, django_assert_num_queries):
    client.force_login(people.viewer)
    bench.receive()
    client.get("/metrics")
    with django_assert_num_queries(13):
        client.get("/metrics")
    for _ in range(9):
        bench.receive()
    with django_assert_num_queries(13):
        client.get("/metrics")


def test_a_request_is_one_line_with_its_number(client, people, caplog):
    client.force_login(people.viewer)
    with caplog.at_level(logging.INFO, "shop.requests"):
        answer = client.get("/jobs/?q=secret", headers={"X-Request-ID": "proxy-12345"})
    assert answer["X-Request-ID"] == "proxy-12345"
    [line] = [r for r in caplog.records if r.name == "shop.requests"]
    assert (line.path, line.status, line.method) == ("/jobs/", 200, "GET")
    assert "secret" not in line.getMessage()


@pytest.mark.parametrize("sent", ["", "short", "x" * 65, "no spaces", "<script>"])
def test_a_number_that_is_no_number_is_replaced(client, sent):
    answer = client.get("/healthz/live", headers={"X-Request-ID": sent})
    assert len(answer["X-Request-ID"]) == 32


def test_lines_are_json_where_they_are_wanted():
    from logging.config import DictConfigurator  # noqa: PLC0415

    wanted = {**django_settings.LOGGING, "root": {}}
    wanted["handlers"]["console"]["formatter"] = "json"
    formatter = DictConfigurator(wanted).configure_formatter(wanted["formatters"]["json"])
    record = logging.makeLogRecord(
        {"msg": "two\nlines", "levelname": "INFO", "name": "x", "status": 200, "request_id": "r"}
    )
    told = json.loads(formatter.format(record))
    assert told["message"] == "two\nlines"
    assert (told["level"], told["status"], told["request_id"]) == ("INFO", 200, "r")
