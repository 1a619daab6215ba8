"""Messages go to customers; tables and columns keep their names, so no row is touched."""

from __future__ import annotations

from typing import ClassVar

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies: ClassVar = [("post", "0001_initial"), ("desk", "0003_customers")]

    operations: ClassVar = [
        migrations.SeparateDatabaseAndState(
            state_operations=[
                migrations.RenameField("message", "owner", "customer"),
                migrations.AlterField(
                    "message",
                    "customer",
                    models.ForeignKey(
                        db_column="owner_id",
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="messages",
                        to="desk.customer",
                    ),
                ),
            ]
        ),
    ]
