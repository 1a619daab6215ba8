"""Requests with an Idempotency-Key, so that one that is sent twice is done once."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("api", "0002_token_scope"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="KeyedRequest",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.CharField(max_length=200)),
                ("method", models.CharField(max_length=8)),
                ("path", models.TextField()),
                ("body_digest", models.CharField(max_length=64)),
                ("status", models.PositiveSmallIntegerField(default=0)),
                ("answer", models.JSONField(null=True)),
                ("made_at", models.DateTimeField(db_index=True)),
                (
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=["person", "key"], name="one_request_for_a_key")
                ]
            },
        ),
    ]
