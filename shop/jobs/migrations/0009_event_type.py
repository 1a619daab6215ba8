"""`LedgerRow.kind` is called `event_type`; the column keeps its name, so no row and no trigger is touched."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("jobs", "0008_readings_from_ledgers")]

    operations = [
        migrations.SeparateDatabaseAndState(
            state_operations=[
                migrations.RenameField("ledgerrow", "kind", "event_type"),
                migrations.AlterField(
                    "ledgerrow", "event_type", models.CharField(max_length=30, db_column="kind")
                ),
            ]
        ),
    ]
