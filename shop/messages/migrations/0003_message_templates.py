"""The shop's own words for an occasion are a template; the table keeps its name."""

from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("post", "0002_customers")]

    operations = [
        migrations.SeparateDatabaseAndState(
            state_operations=[
                migrations.RenameModel("Wording", "MessageTemplate"),
                migrations.AlterModelTable("messagetemplate", "post_wording"),
            ]
        ),
    ]
