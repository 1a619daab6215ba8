"""The database's last word on stock: movements are never updated, deleted or replaced."""

from django.db import migrations

from shop.parts import append_only_triggers


class Migration(migrations.Migration):
    dependencies = [("parts", "0001_initial")]

    operations = [
        migrations.RunPython(
            lambda apps, editor: append_only_triggers.install(editor.connection),
            lambda apps, editor: append_only_triggers.remove(editor.connection),
        ),
    ]
