"""Mains off by a page from before: it is bound to the mains that the page showed."""

from __future__ import annotations

import re

from django.urls import reverse

from tests.api.conftest import caller_for

_OFF = re.compile(r'name="seen" value="(\d+)">\s*<input type="hidden" name="next" value="back">')


def seen_on(text: str) -> str:
    return _OFF.search(text)[1]


def test_a_page_of_an_earlier_mains_takes_down_no_newer_one(client, people, bench, job):
    client.force_login(people.technician)
    bench.limited(job)
    pages = [
        client.get(reverse(*where)).content.decode() for where in (("job", None, [job]), ("home",))
    ]
    bench.power(job, "isolated")
    bench.limited(job)
    for text in pages:
        stale = {"to": "isolated", "seen": seen_on(text)}
        answer = client.post(reverse("power", args=[job]), stale)
        assert answer.status_code == 409
        assert "mains came on again" in answer.content.decode()
        assert bench.job(job).power == "limited"
    # The page that says so can be pressed.
    fresh = {"to": "isolated", "seen": seen_on(answer.content.decode())}
    client.post(reverse("power", args=[job]), fresh)
    assert bench.job(job).power == "isolated"


def test_a_request_that_arrives_late_says_what_it_was_said_of(people, bench, job):
    caller = caller_for(people.technician)
    bench.limited(job)
    seen = bench.job(job).head
    bench.power(job, "isolated")
    bench.limited(job)
    status, told = caller.post(f"jobs/{job}/power/", {"to": "isolated", "seen": seen})
    assert status == 409
    assert "mains came on again" in told["reason"]
    assert caller.post(f"jobs/{job}/power/", {"to": "isolated"})[0] == 200
    assert bench.job(job).power == "isolated"
