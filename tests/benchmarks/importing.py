"""Rows of a spreadsheet that become jobs in a second of CPU, on a database of its own.

Run by `make bench`. Rows as a list of another program has them: makes, models and problems come
again, serials and references do not. The look at every row is part of it.
"""

from __future__ import annotations

import csv
import os
import tempfile
import time
from pathlib import Path

FOLDER = Path(tempfile.mkdtemp(prefix="benchtag-bench-"))
os.environ["BENCHTAG_DATA"] = str(FOLDER)
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shop.site.settings")
os.environ.pop("BENCHTAG_DATABASE_URL", None)

import django

django.setup()

from django.db import connection
from django.utils import timezone

from shop.accounts import roles
from shop.transfer.job_import import import_csv
from tests import migrated
from tests.benchmarks.budgets import told

ROWS, AT_LEAST = 3000, 600
KINDS = ("integrated-amplifier", "receiver", "cassette-deck", "turntable", "tuner")
PROBLEMS = ("hums", "no sound left", "does not switch on", "crackles when warm", "smells", "dead")


def written() -> Path:
    file = FOLDER / "jobs.csv"
    with file.open("w", newline="") as to:
        rows = csv.writer(to)
        rows.writerow(["reference", "make", "model", "serial", "unit.kind", "problem", "status"])
        for n in range(ROWS):
            kind, problem = KINDS[n % len(KINDS)], PROBLEMS[n % len(PROBLEMS)]
            made = (f"Maker {n % 40}", f"M {n % 170}", f"S{n:06}")
            rows.writerow([f"R{n:06}", *made, kind, problem, "open"])
    return file


def main() -> None:
    migrated.migrate(connection)
    by, file = roles.make_user("bench-mark", "owner"), written()
    start = time.process_time()
    result = import_csv(file, by=by, at=timezone.now())
    taken = time.process_time() - start
    assert len(result.numbers) == ROWS, result.errors[:3]
    told("import-rows", ROWS / taken, AT_LEAST, at_least=True)


if __name__ == "__main__":
    main()
