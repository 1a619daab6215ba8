"""What a scanner types opens the job it means, and nothing else."""

from __future__ import annotations

import pytest

from shop.search.scan_views import jobs_for

pytestmark = pytest.mark.django_db


@pytest.fixture
def scan(client, people, settings):
    settings.ADDRESS = "https://bench.example"
    client.force_login(people.viewer)
    return lambda code: client.get("/scan/", {"code": code})


@pytest.mark.parametrize(
    "code", ["https://bench.example/jobs/{}/", "/jobs/{}/", "jobs/{}", "{}", "  {}\r\n"]
)
def test_a_label_or_number_opens_its_job(scan, bench, code):
    number = bench.receive()
    answer = scan(code.format(number))
    assert (answer.status_code, answer["Location"]) == (302, f"/jobs/{number}/")


def test_the_label_of_another_shop_opens_nothing(scan, bench):
    number = bench.receive()
    answer = scan(f"https://other.example/jobs/{number}/")
    assert answer.status_code == 404
    assert "No job of this shop has the code" in answer.content.decode()


@pytest.mark.parametrize(
    "code", ["999999", "9" * 40, "x" * 500, "٣", "-1", "jobs/1/ledger/", "a\0b", "<b>", "%"]
)
def test_what_means_no_job_gets_a_sentence(scan, bench, code):
    bench.receive(serial="S1")
    answer = scan(code)
    assert answer.status_code == 404
    assert "<b>." not in answer.content.decode()


def test_a_serial_number_opens_its_one_job_whatever_the_case(scan, bench):
    number = bench.receive(serial="kv-٣ Ж")
    assert scan("KV-٣ Ж")["Location"] == f"/jobs/{number}/"


def test_a_serial_number_seen_twice_lists_newest_first(scan, bench):
    first, second = bench.receive(serial="KV-1"), bench.receive(serial="KV-1", make="Other")
    page = scan("kv-1").content.decode()
    assert page.index(f"/jobs/{second}/") < page.index(f"/jobs/{first}/")


def test_a_number_that_is_also_a_serial_lists_both(bench):
    number = bench.receive()
    other = bench.receive(serial=str(number))
    assert [job.number for job in jobs_for(str(number))] == [number, other]


def test_the_empty_page_asks(scan):
    answer = scan("")
    assert answer.status_code == 200
    assert 'role="alert"' not in answer.content.decode()
