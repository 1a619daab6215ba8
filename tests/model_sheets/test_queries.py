"""What the shop knows of a model: units seen, usual faults, parts fitted."""

from __future__ import annotations

import pytest

from shop.jobs.models import JobCause, JobPart
from shop.model_sheets import queries, services

pytestmark = pytest.mark.django_db


@pytest.fixture
def seen(bench):
    """Return two jobs of one model, and one of another."""
    numbers = [bench.receive(make="Nordlicht", model="A 20", serial=f"S{n}") for n in range(2)]
    return [*numbers, bench.receive(make="Sorngaard", model="C 9")]


def test_a_model_is_known_by_its_units_and_by_its_sheet(seen, people):
    services.get_or_create_sheet("Ostrevik", "T 1", by=people.technician)
    known = {(one.make, one.model): one for one in queries.known_models()}
    assert known["Nordlicht", "A 20"].units == 2
    assert known["Nordlicht", "A 20"].sheet is None
    assert known["Ostrevik", "T 1"].units == 0
    assert known["Ostrevik", "T 1"].sheet
    assert [one.make for one in queries.known_models("nord 20")] == ["Nordlicht"]
    assert queries.known_models("nord zzz") == []


def test_usual_faults_and_parts_are_counted_by_job(seen):
    for number, suspect in ((seen[0], "worn belt"), (seen[1], "worn belt"), (seen[2], "hum")):
        JobCause.objects.create(job_id=number, suspect=suspect)
    JobCause.objects.create(job_id=seen[0], suspect="dry joint")
    assert queries.usual_causes("Nordlicht", "A 20") == [("worn belt", 2), ("dry joint", 1)]
    assert queries.counted("Nordlicht", "A 20") == {"units": 2, "jobs": 2, "open": 2, "back": 0}


def test_only_parts_that_were_fitted_count(bench, seen):
    bench.record(seen[0], "part_needed", spec="relay 24 V", quantity=2)
    assert queries.usual_parts("Nordlicht", "A 20") == []
    JobPart.objects.update(fitted=True)
    (part,) = queries.usual_parts("Nordlicht", "A 20")
    assert (part["spec"], part["times"], part["pieces"]) == ("relay 24 V", 1, 2)


def test_the_pages_show_it(client, people, seen):
    JobCause.objects.create(job_id=seen[0], suspect="worn belt")
    client.force_login(people.technician)
    assert "A 20" in client.get("/models/", {"q": "nordlicht"}).content.decode()
    sheet = services.get_or_create_sheet("Nordlicht", "A 20", by=people.technician)
    assert "Worn belt" in client.get(f"/models/{sheet.pk}/").content.decode()
    assert "No model has" in client.get("/models/", {"q": "zzz"}).content.decode()
