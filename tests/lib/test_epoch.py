from __future__ import annotations

from datetime import timedelta

import pytest

from shop.jobs.models import Job
from shop.lib.epoch import Epoch

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("back", [timedelta(0), timedelta(days=9131, seconds=0.37)])
def test_the_database_counts_the_seconds_that_python_counts(job, now, back):
    Job.objects.filter(pk=job).update(received_at=now - back, closed_at=None)
    asked = Job.objects.filter(pk=job).values_list(Epoch("received_at"), Epoch("closed_at"))
    [(seconds, nothing)] = asked
    assert seconds == pytest.approx((now - back).timestamp(), abs=1e-3)
    assert nothing is None
