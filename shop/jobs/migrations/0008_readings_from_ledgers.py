"""Write the readings of the jobs that are there already, from their ledgers."""

import json

from django.db import migrations


def fill(apps, editor):
    """Go through signed steps, a chunk at a time."""
    reading = apps.get_model("jobs", "JobReading")
    rows = apps.get_model("jobs", "LedgerRow").objects.filter(kind="step_signed")
    made = []
    for row in rows.select_related("job__unit").iterator(chunk_size=500):
        unit = row.job.unit
        for one in json.loads(row.body).get("readings", ()):
            made.append(
                reading(
                    job=row.job, row=row.sequence, make=unit.make, model=unit.model,
                    quantity=one["quantity"], value=one["value"], unit=one.get("unit", ""),
                    low=one.get("min"), high=one.get("max"), passed=one.get("passed", True),
                )
            )  # fmt: skip
        if len(made) >= 500:
            reading.objects.bulk_create(made)
            made = []
    reading.objects.bulk_create(made)


class Migration(migrations.Migration):
    """Data only."""

    dependencies = [("jobs", "0007_readings")]
    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
