"""Post code, town and country of a customer in columns of their own."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("desk", "0003_customers")]
    operations = [
        migrations.AddField(
            "customer",
            "post_code",
            models.CharField(blank=True, default="", max_length=20),
            preserve_default=False,
        ),
        migrations.AddField(
            "customer",
            "city",
            models.CharField(blank=True, default="", max_length=100),
            preserve_default=False,
        ),
        migrations.AddField(
            "customer",
            "country",
            models.CharField(blank=True, default="", max_length=2),
            preserve_default=False,
        ),
    ]
