"""Links are called links of customers; tables and columns keep their names, so no row is touched."""

from __future__ import annotations

from typing import ClassVar

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies: ClassVar = [("link", "0001_initial"), ("jobs", "0010_drop_handled_at")]

    operations: ClassVar = [
        migrations.SeparateDatabaseAndState(
            state_operations=[
                migrations.RenameModel("OwnerLink", "CustomerLink"),
                migrations.AlterModelTable("customerlink", "link_ownerlink"),
                migrations.AlterField(
                    "customerlink",
                    "job",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="customer_links",
                        to="jobs.job",
                    ),
                ),
            ]
        ),
    ]
