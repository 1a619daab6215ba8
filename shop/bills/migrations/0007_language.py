"""In which language a bill was issued; those of before were in English.

The triggers are taken away first: SQLite makes the table anew, and would drop them.
"""

from django.db import migrations, models

from shop.bills import bill_triggers


def install(apps, editor):
    bill_triggers.install(editor.connection)


def remove(apps, editor):
    bill_triggers.remove(editor.connection)


class Migration(migrations.Migration):
    dependencies = [("bills", "0006_goods_to_the_union")]
    operations = [
        migrations.RunPython(remove, install),
        migrations.AddField("bill", "language", models.CharField(blank=True, max_length=8)),
        migrations.RunPython(install, remove),
    ]
