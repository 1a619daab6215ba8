"""Write part needs and stays in stages of the jobs that are there already, from their ledgers.

SQLite has rebuilt the table of jobs in 0003 and dropped its triggers: they are installed anew.
"""

import json

from django.db import migrations
from django.db.models import F

from shop.jobs import power_triggers

KINDS = (
    "received",
    "stage_changed",
    "part_needed",
    "part_ordered",
    "part_arrived",
    "part_fitted",
)
CLOSED = ("released", "withdrawn")


def fill(apps, editor):
    """Go through all jobs, a chunk at a time."""
    job_model = apps.get_model("jobs", "Job")
    for job in job_model.objects.order_by("pk").iterator(chunk_size=500):
        _fill_one(apps, job)
    job_model.objects.filter(closed_at=None).update(waiting_since=F("stage_since"))
    power_triggers.install(editor.connection)


def _fill_one(apps, job):
    rows = apps.get_model("jobs", "LedgerRow").objects.filter(job=job, kind__in=KINDS)
    part_model, stay_model = apps.get_model("jobs", "JobPart"), apps.get_model("jobs", "StageVisit")
    parts, stays = {}, []
    for row in rows.order_by("sequence"):
        data = json.loads(row.body)
        if row.kind in ("received", "stage_changed"):
            stage = data.get("to", "received")
            if stays:
                stays[-1].left_at, stays[-1].to = row.at, stage
            if stage not in CLOSED:
                stays.append(stay_model(job=job, stage=stage, entered_at=row.at))
        elif row.kind == "part_needed":
            parts[row.sequence] = part_model(
                job=job,
                need=row.sequence,
                spec=data["spec"],
                required=data["required"],
                needed_at=row.at,
            )
        elif data.get("need") in parts:
            part = parts[data["need"]]
            part.ordered = part.ordered or row.kind == "part_ordered"
            part.fitted = part.fitted or row.kind == "part_fitted"
            part.arrived = 1 if row.kind == "part_arrived" else part.arrived
    for part in parts.values():
        part.outstanding = not (part.arrived or part.fitted or job.closed_at)
    part_model.objects.bulk_create(parts.values())
    stay_model.objects.bulk_create(stays)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0003_waiting")]

    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
