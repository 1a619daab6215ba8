"""Drop a mark that nothing ever set, with its index and its exception in the triggers.

The triggers are taken away first, because SQLite drops no column that one of them names.
"""

from django.db import migrations

from shop.jobs import power_triggers


def install(apps, editor):
    power_triggers.install(editor.connection)


def remove(apps, editor):
    power_triggers.remove(editor.connection)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0009_event_type")]

    operations = [
        migrations.RunPython(remove, install),
        migrations.RemoveIndex("ledgerrow", "ledger_unhandled"),
        migrations.RemoveField("ledgerrow", "handled_at"),
        migrations.RunPython(install, remove),
    ]
