"""The bytes of a photo are its image; tables and columns keep their names, so no row is touched."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("photos", "0001_initial")]

    operations = [
        migrations.SeparateDatabaseAndState(
            state_operations=[
                migrations.RenameModel("Picture", "PhotoImage"),
                migrations.AlterModelTable("photoimage", "photos_picture"),
                migrations.AlterField(
                    "photoimage",
                    "photo",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        primary_key=True,
                        related_name="image",
                        serialize=False,
                        to="photos.photo",
                    ),
                ),
                migrations.RenameField("photo", "shown", "visible_to_customer"),
                migrations.AlterField(
                    "photo",
                    "visible_to_customer",
                    models.BooleanField(db_column="shown", default=True),
                ),
            ]
        ),
    ]
