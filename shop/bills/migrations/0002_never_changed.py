"""Numbers run on without a gap, and what is issued or paid is never changed."""

from django.db import migrations

from shop.bills import bill_triggers


class Migration(migrations.Migration):
    dependencies = [("bills", "0001_initial")]
    operations = [
        migrations.RunPython(
            lambda apps, editor: bill_triggers.install(editor.connection),
            lambda apps, editor: bill_triggers.remove(editor.connection),
        ),
    ]
