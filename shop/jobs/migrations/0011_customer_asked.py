"""A question is the customer's; tables and columns keep their names, so no row is touched."""

from __future__ import annotations

from typing import ClassVar

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies: ClassVar = [("jobs", "0010_drop_handled_at")]

    operations: ClassVar = [
        migrations.SeparateDatabaseAndState(
            state_operations=[
                migrations.RenameField("job", "owner_asked", "customer_asked"),
                migrations.AlterField(
                    "job",
                    "customer_asked",
                    models.BooleanField(db_column="owner_asked", default=False),
                ),
            ]
        ),
    ]
