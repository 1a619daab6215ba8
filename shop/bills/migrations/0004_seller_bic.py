"""The bank of the shop's account on bills.

The triggers are taken away first: SQLite makes the table anew, and would drop them.
"""

from django.db import migrations, models

from shop.bills import bill_triggers


def install(apps, editor):
    bill_triggers.install(editor.connection)


def remove(apps, editor):
    bill_triggers.remove(editor.connection)


class Migration(migrations.Migration):
    dependencies = [("bills", "0003_past_is_not_billed")]
    operations = [
        migrations.RunPython(remove, install),
        migrations.AddField("bill", "seller_bic", models.CharField(blank=True, max_length=11)),
        migrations.RunPython(install, remove),
    ]
