"""What a signature is answered with: the next card, and not the sheet of the job."""

from __future__ import annotations

import pytest
from django.contrib.auth.models import User
from django.urls import reverse

from shop.jobs.models import Job
from shop.jobs.queries import Traveller

MOST_BYTES = 25_000
HTMX = {"HX-Request": "true"}


def first_open(job: Job) -> str:
    steps = Traveller.of(job).checklist.steps
    return next(step.key for step in steps if not step.stands)


@pytest.mark.parametrize("result", ["pass", "fail"])
def test_a_signature_on_any_open_job_is_answered_shortly(client, demo_shop, result):
    client.force_login(User.objects.get(username="technician"))
    jobs = list(Job.objects.filter(closed_at=None))
    assert len(jobs) >= 5
    sizes = {}
    for job in jobs:
        path = reverse("sign", args=[job.number, first_open(job)])
        answer = client.post(path, {"result": result}, headers=HTMX)
        # Taken or refused, both are answered with a card.
        assert answer.status_code in (200, 409, 422)
        assert 'class="act"' in answer.content.decode()
        sizes[job.number] = len(answer.content)
    assert max(sizes.values()) <= MOST_BYTES, sizes
