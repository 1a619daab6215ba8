"""The database's last word: the ledger is append-only, and no power without a live permit."""

from django.db import migrations

from shop.jobs import power_triggers


class Migration(migrations.Migration):
    dependencies = [("jobs", "0001_initial")]

    operations = [
        migrations.RunPython(
            lambda apps, editor: power_triggers.install(editor.connection),
            lambda apps, editor: power_triggers.remove(editor.connection),
        ),
    ]
