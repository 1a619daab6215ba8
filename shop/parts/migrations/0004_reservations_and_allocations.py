"""A promise of stock is called a reservation, a claim on an order line an allocation.

Tables and columns keep their names, so no row, trigger or bundle is touched.
"""

import django.db.models.deletion
from django.db import migrations, models
from django.db.models import F, Q


class Migration(migrations.Migration):
    dependencies = [("parts", "0003_figures")]

    operations = [
        migrations.SeparateDatabaseAndState(
            state_operations=[
                migrations.RenameModel("Promise", "Reservation"),
                migrations.AlterModelTable("reservation", "parts_promise"),
                migrations.AlterField(
                    "reservation",
                    "stock",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="reservations",
                        to="parts.stock",
                    ),
                ),
                migrations.RenameModel("Claim", "Allocation"),
                migrations.AlterModelTable("allocation", "parts_claim"),
                migrations.AlterField(
                    "allocation",
                    "line",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="allocations",
                        to="parts.orderline",
                    ),
                ),
                migrations.RemoveConstraint("stock", "stock_promised_once"),
                migrations.RenameField("stock", "promised", "reserved"),
                migrations.AlterField(
                    "stock",
                    "reserved",
                    models.PositiveIntegerField(default=0, db_column="promised"),
                ),
                migrations.AddConstraint(
                    "stock",
                    models.CheckConstraint(
                        condition=Q(reserved__gte=0) & Q(reserved__lte=F("on_hand")),
                        name="stock_promised_once",
                    ),
                ),
            ]
        ),
    ]
