"""Units that had left before bills were written here wait for none."""

from django.db import migrations
from django.utils import timezone

REASON = "Left before bills were written here."


def note_the_past(apps, editor):
    job, nothing = apps.get_model("jobs", "Job"), apps.get_model("bills", "NothingToBill")
    gone = job.objects.filter(closed_at__isnull=False).values_list("pk", flat=True)
    now = timezone.now()
    nothing.objects.bulk_create(
        (nothing(job_id=number, reason=REASON, at=now) for number in gone.iterator()),
        batch_size=500,
        ignore_conflicts=True,
    )


class Migration(migrations.Migration):
    dependencies = [("bills", "0002_never_changed")]
    operations = [migrations.RunPython(note_the_past, migrations.RunPython.noop)]
