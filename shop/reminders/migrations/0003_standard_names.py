"""Keys and levels of reminders, e-mails and preferences under standard names.

Tables and columns keep their names, so no row and no bundle is touched.
"""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("watch", "0002_ladders"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.SeparateDatabaseAndState(
            state_operations=[
                migrations.RemoveConstraint("reminder", "reminder_said_once"),
                migrations.RenameField("reminder", "cause", "dedup_key"),
                migrations.AlterField(
                    "reminder", "dedup_key", models.CharField(db_column="cause", max_length=80)
                ),
                migrations.RenameField("reminder", "rung", "escalation_level"),
                migrations.AlterField(
                    "reminder",
                    "escalation_level",
                    models.PositiveSmallIntegerField(db_column="rung", default=1),
                ),
                migrations.AddConstraint(
                    "reminder",
                    models.UniqueConstraint(
                        fields=["job", "dedup_key", "escalation_level"], name="reminder_said_once"
                    ),
                ),
                migrations.RenameModel("Letter", "StaffEmail"),
                migrations.AlterModelTable("staffemail", "watch_letter"),
                migrations.AlterField(
                    "staffemail",
                    "person",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="staff_emails",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                migrations.RenameModel("MailWish", "EmailPreference"),
                migrations.AlterModelTable("emailpreference", "watch_mailwish"),
                migrations.AlterField(
                    "emailpreference",
                    "person",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="email_preference",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                migrations.AlterField(
                    "emailpreference",
                    "way",
                    models.CharField(
                        choices=[
                            ("each", "each reminder at once"),
                            ("digest", "one e-mail a day"),
                            ("none", "no e-mails"),
                        ],
                        default="each",
                        max_length=8,
                    ),
                ),
            ]
        ),
    ]
