"""Let full power come straight from isolated: a unit that passed its trial on the limiter needs no second one.

The permit for full power is still asked for by the database.
"""

from django.db import migrations

from shop.jobs import power_triggers


def install(apps, editor):
    power_triggers.install(editor.connection)


def remove(apps, editor):
    power_triggers.remove(editor.connection)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0011_customer_asked")]

    operations = [migrations.RunPython(install, remove)]
