"""Owners of units are called customers; tables and columns keep their names, so no row is touched."""

from __future__ import annotations

from typing import ClassVar

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies: ClassVar = [
        ("desk", "0002_owners_and_arrivals"),
        # Its first migration speaks of owners still.
        ("post", "0001_initial"),
    ]

    operations: ClassVar = [
        migrations.SeparateDatabaseAndState(
            state_operations=[
                migrations.RenameModel("Owner", "Customer"),
                migrations.AlterModelTable("customer", "desk_owner"),
                migrations.RenameField("intake", "owner", "customer"),
                migrations.AlterField(
                    "intake",
                    "customer",
                    models.ForeignKey(
                        blank=True,
                        db_column="owner_id",
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="intakes",
                        to="desk.customer",
                    ),
                ),
            ]
        ),
    ]
