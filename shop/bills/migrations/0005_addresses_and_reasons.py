"""Addresses in parts, why lines carry no tax, the terms, and until when the repair is warranted.

The triggers are taken away first: SQLite makes the table anew, and would drop them.
"""

from django.db import migrations, models

from shop.bills import bill_triggers

TEXTS = {
    "seller_post_code": 20,
    "seller_city": 100,
    "buyer_post_code": 20,
    "buyer_city": 100,
    "buyer_tax_number": 40,
    "untaxed_code": 30,
}
UNTAXED = (
    ("zero", "taxed at 0 %"),
    ("exempt", "exempt"),
    ("reverse", "reverse charge: the buyer owes the tax"),
    ("export", "export"),
    ("outside", "outside the scope of the tax"),
)


def install(apps, editor):
    bill_triggers.install(editor.connection)


def remove(apps, editor):
    bill_triggers.remove(editor.connection)


class Migration(migrations.Migration):
    dependencies = [("bills", "0004_seller_bic")]
    operations = [
        migrations.RunPython(remove, install),
        *(
            migrations.AddField("bill", name, models.CharField(blank=True, max_length=longest))
            for name, longest in TEXTS.items()
        ),
        migrations.AddField(
            "bill", "untaxed_as", models.CharField(blank=True, choices=UNTAXED, max_length=8)
        ),
        migrations.AddField("bill", "terms", models.TextField(blank=True)),
        migrations.AddField("bill", "warranted_until", models.DateField(blank=True, null=True)),
        migrations.RunPython(install, remove),
    ]
