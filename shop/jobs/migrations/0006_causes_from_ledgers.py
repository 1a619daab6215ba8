"""Write the causes that jobs have confirmed so far, from their ledgers."""

import json

from django.db import migrations


def fill(apps, editor):
    """Go through the rows about suspects, oldest first: the last word on each counts."""
    cause = apps.get_model("jobs", "JobCause")
    rows = apps.get_model("jobs", "LedgerRow").objects.filter(kind="suspect_changed")
    for row in rows.order_by("job_id", "sequence").select_related("job").iterator():
        data = json.loads(row.body)
        if data["change"] == "confirmed":
            cause.objects.update_or_create(
                job=row.job, suspect=data["suspect"], defaults={"kind": row.job.kind}
            )
        else:
            cause.objects.filter(job=row.job, suspect=data["suspect"]).delete()


class Migration(migrations.Migration):
    """Data only."""

    dependencies = [("jobs", "0005_causes")]
    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
