"""A line of an estimate is called so; its table keeps its name, so no row is touched."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("estimates", "0001_initial")]

    operations = [
        migrations.SeparateDatabaseAndState(
            state_operations=[
                migrations.RenameModel("Line", "EstimateLine"),
                migrations.AlterModelTable("estimateline", "estimates_line"),
            ]
        ),
    ]
