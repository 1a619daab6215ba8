from django.conf import settings
from django.db import migrations, models

from shop.preferences import languages


def language_of_customers(apps, schema_editor):
    """Words that a shop wrote are in the language of its customers."""
    changes = apps.get_model("preferences", "SettingChange").objects
    newest = changes.filter(name="customers_language").order_by("-id").first()
    language = getattr(settings, "CUSTOMERS_LANGUAGE", newest.text if newest else "")
    if language in languages.NAMES:
        apps.get_model("post", "MessageTemplate").objects.update(language=language)


class Migration(migrations.Migration):
    dependencies = [
        ("post", "0003_message_templates"),
        ("preferences", "0002_sealed_settings"),
    ]

    operations = [
        migrations.AlterField(
            model_name="messagetemplate",
            name="about",
            field=models.CharField(max_length=20),
        ),
        migrations.AddField(
            model_name="messagetemplate",
            name="language",
            field=models.CharField(
                choices=[
                    ("en", "English"),
                    ("de", "Deutsch"),
                    ("fr", "Français"),
                    ("es", "Español"),
                    ("nl", "Nederlands"),
                    ("it", "Italiano"),
                    ("ja", "日本語"),
                ],
                default="en",
                max_length=5,
            ),
        ),
        migrations.RunPython(language_of_customers, migrations.RunPython.noop),
        migrations.AddConstraint(
            model_name="messagetemplate",
            constraint=models.UniqueConstraint(
                fields=("about", "language"), name="wording_once_a_language"
            ),
        ),
    ]
