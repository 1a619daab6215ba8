"""A permit is never changed: full mains after the limiter has a permit of its own.

For as long as that transaction lasts two are live, one of each power.
"""

from django.db import migrations, models

from shop.jobs import power_triggers


def install(apps, editor):
    power_triggers.install(editor.connection)


def remove(apps, editor):
    power_triggers.remove(editor.connection)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0014_settle_units")]

    operations = [
        migrations.RunPython(remove, install),
        migrations.RemoveConstraint("permit", "permit_one_live_per_job"),
        migrations.AddConstraint(
            "permit",
            models.UniqueConstraint(
                fields=["job", "power"],
                condition=models.Q(ended_at__isnull=True),
                name="permit_one_live_of_a_power",
            ),
        ),
        migrations.RunPython(install, remove),
    ]
