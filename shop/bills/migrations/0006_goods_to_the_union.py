"""One more reason for lines without tax; only a word of the choices, the table stays as it is."""

from django.db import migrations, models

UNTAXED = (
    ("zero", "taxed at 0 %"),
    ("exempt", "exempt"),
    ("reverse", "reverse charge: the buyer owes the tax"),
    ("export", "export"),
    ("union", "goods to another country of the Union"),
    ("outside", "outside the scope of the tax"),
)


class Migration(migrations.Migration):
    dependencies = [("bills", "0005_addresses_and_reasons")]
    operations = [
        migrations.AlterField(
            "bill", "untaxed_as", models.CharField(blank=True, choices=UNTAXED, max_length=8)
        ),
    ]
