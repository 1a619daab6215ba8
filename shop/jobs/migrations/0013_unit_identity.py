"""What spellings of one unit share, and the job that took another one over.

The column of the job is added between the triggers.
"""

import django.db.models.deletion
from django.db import migrations, models

from shop.jobs import power_triggers


def install(apps, editor):
    power_triggers.install(editor.connection)


def remove(apps, editor):
    power_triggers.remove(editor.connection)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0012_full_power_after_its_trial")]

    operations = [
        migrations.RunPython(remove, install),
        migrations.AddField(
            "job",
            "joined_into",
            models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="joined",
                to="jobs.job",
            ),
        ),
        migrations.AddField("unit", "identity", models.CharField(blank=True, max_length=64)),
        migrations.AddConstraint(
            "unit",
            models.UniqueConstraint(
                condition=models.Q(("identity", ""), _negated=True),
                fields=("identity",),
                name="unit_once",
            ),
        ),
        migrations.RunPython(install, remove),
    ]
