"""What the index holds is called by what it is; tables keep their names, so no row is touched."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("search", "0002_full_text")]

    operations = [
        migrations.SeparateDatabaseAndState(
            state_operations=[
                migrations.RenameModel("Entry", "IndexedJob"),
                migrations.AlterModelTable("indexedjob", "search_entry"),
                migrations.AlterField(
                    "indexedjob",
                    "job",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        primary_key=True,
                        related_name="indexed",
                        serialize=False,
                        to="jobs.job",
                    ),
                ),
                migrations.RenameModel("Word", "IndexedWord"),
                migrations.AlterModelTable("indexedword", "search_word"),
            ]
        ),
    ]
