"""Tokens get a name, a scope, an end and a mark of the password that they fall with."""

from datetime import timedelta

from django.db import migrations, models
from django.utils import timezone
from django.utils.crypto import salted_hmac

_DAYS_FOR_THE_OLD = 90


def mark(apps, schema_editor):
    """Let what was made before go on for a while, bound to the password of today."""
    for token in apps.get_model("api", "ApiToken").objects.select_related("user"):
        token.name = "made before tokens had names"
        token.password_mark = salted_hmac(
            "shop.api.token", token.user.password, algorithm="sha256"
        ).hexdigest()
        token.save(update_fields=["name", "password_mark"])


def in_a_while():
    return timezone.now() + timedelta(days=_DAYS_FOR_THE_OLD)


class Migration(migrations.Migration):
    dependencies = [("api", "0001_initial")]

    operations = [
        migrations.AddField("apitoken", "name", models.CharField(max_length=80, blank=True)),
        migrations.AddField(
            "apitoken",
            "scope",
            models.CharField(
                max_length=8,
                choices=[("read", "reads only"), ("write", "reads and writes")],
                default="write",
            ),
        ),
        migrations.AddField(
            "apitoken", "password_mark", models.CharField(max_length=64, blank=True)
        ),
        migrations.AddField(
            "apitoken",
            "expires_at",
            models.DateTimeField(default=in_a_while),
            preserve_default=False,
        ),
        migrations.AddField("apitoken", "revoked_at", models.DateTimeField(null=True, blank=True)),
        migrations.RunPython(mark, migrations.RunPython.noop),
    ]
