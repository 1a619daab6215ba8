"""One unit, one row: spellings of a unit become one, and what shared "n/a" is parted.

Open jobs stay open, also two of one unit. No ledger is touched.
"""

from django.db import migrations

from shop.jobs.identity import settled


def settle(apps, editor):
    unit, job = apps.get_model("jobs", "Unit"), apps.get_model("jobs", "Job")
    names = unit.objects.values("id", "make", "model", "serial")
    found = settled(list(names), job.objects.values_list("number", "unit_id"))
    for number, target in found.moves.items():
        job.objects.filter(pk=number).update(unit_id=target)
    for number, alike in found.own.items():
        name = unit.objects.values("make", "model", "serial").get(pk=alike)
        job.objects.filter(pk=number).update(unit=unit.objects.create(**name))
    for key, identity in found.identities.items():
        unit.objects.filter(pk=key).update(identity=identity)


class Migration(migrations.Migration):
    dependencies = [("jobs", "0013_unit_identity")]

    operations = [migrations.RunPython(settle, migrations.RunPython.noop)]
