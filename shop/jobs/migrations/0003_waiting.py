"""Part needs, stays in stages, and what lists of waiting need on a job."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shop.jobs import power_triggers


class Migration(migrations.Migration):
    dependencies = [
        ("jobs", "0002_last_word"),
        ("parts", "0001_initial"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        # SQLite rebuilds the table of jobs below, which its triggers would not let happen;
        # 0004 installs them anew.
        migrations.RunPython(
            lambda apps, editor: power_triggers.remove(editor.connection),
            lambda apps, editor: power_triggers.install(editor.connection),
        ),
        migrations.CreateModel(
            name="JobPart",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("need", models.PositiveIntegerField()),
                ("spec", models.CharField(max_length=500)),
                ("quantity", models.PositiveIntegerField(default=1)),
                ("arrived", models.PositiveIntegerField(default=0)),
                ("required", models.BooleanField(default=True)),
                ("ordered", models.BooleanField(default=False)),
                ("fitted", models.BooleanField(default=False)),
                ("needed_at", models.DateTimeField()),
                ("outstanding", models.BooleanField(default=True)),
            ],
            options={
                "ordering": ["job", "need"],
            },
        ),
        migrations.CreateModel(
            name="StageVisit",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("stage", models.CharField(max_length=20)),
                ("kind", models.CharField(blank=True, max_length=40)),
                ("entered_at", models.DateTimeField()),
                ("left_at", models.DateTimeField(blank=True, null=True)),
                ("to", models.CharField(blank=True, max_length=20)),
            ],
            options={
                "ordering": ["job", "entered_at"],
            },
        ),
        migrations.AddField(
            model_name="job",
            name="kind",
            field=models.CharField(blank=True, max_length=40),
        ),
        migrations.AddField(
            model_name="job",
            name="owner_asked",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="job",
            name="waiting_since",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="job",
            name="promised_on",
            field=models.DateField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="job",
            name="ready_since",
            field=models.DateTimeField(blank=True, null=True),
        ),
        migrations.AddField(
            model_name="job",
            name="technician",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.SET_NULL,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
            ),
        ),
        migrations.AddIndex(
            model_name="unit",
            index=models.Index(fields=["make", "model"], name="unit_model"),
        ),
        migrations.AddIndex(
            model_name="job",
            index=models.Index(fields=["received_at"], name="job_received"),
        ),
        migrations.AddIndex(
            model_name="job",
            index=models.Index(
                condition=models.Q(("closed_at__isnull", False)),
                fields=["closed_at"],
                name="job_closed",
            ),
        ),
        migrations.AddField(
            model_name="jobpart",
            name="job",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="parts", to="jobs.job"
            ),
        ),
        migrations.AddField(
            model_name="jobpart",
            name="part",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="needed_by",
                to="parts.part",
            ),
        ),
        migrations.AddField(
            model_name="stagevisit",
            name="job",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="stage_visits",
                to="jobs.job",
            ),
        ),
        migrations.AddIndex(
            model_name="jobpart",
            index=models.Index(
                condition=models.Q(("outstanding", True)),
                fields=["needed_at"],
                name="job_part_outstanding",
            ),
        ),
        migrations.AddConstraint(
            model_name="jobpart",
            constraint=models.UniqueConstraint(fields=("job", "need"), name="job_part_once"),
        ),
        migrations.AddIndex(
            model_name="stagevisit",
            index=models.Index(fields=["stage", "-left_at"], name="stage_visit_left"),
        ),
        migrations.AddConstraint(
            model_name="stagevisit",
            constraint=models.UniqueConstraint(
                condition=models.Q(("left_at__isnull", True)),
                fields=("job",),
                name="stage_visit_one_open",
            ),
        ),
    ]
