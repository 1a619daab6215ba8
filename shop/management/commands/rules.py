"""`manage.py rules check|diff`: is the pack sound, and what would another one change."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from checklists import published
from checklists.engine import cases, reading_packs
from checklists.engine.derive import Checklist, derive
from checklists.engine.pack import Pack, PackError
from shop.jobs import queries
from shop.jobs.models import Job
from shop.jobs.stages import OPEN


class Command(BaseCommand):
    """Checks packs and compares them."""

    help = "Check the pack with its cases, or show what another pack would change for open jobs."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the subcommands."""
        ways = parser.add_subparsers(dest="way", required=True)
        check = ways.add_parser("check", help="load the pack and run its cases")
        check.add_argument("--pack", metavar="DIR")
        diff = ways.add_parser("diff", help="what a pack folder would change for open jobs")
        diff.add_argument("folder", metavar="DIR")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run the subcommand; exit 2 when the pack is not sound."""
        if options["way"] == "check":
            self._check(Path(options["pack"] or settings.PACK_FOLDER), bool(options["pack"]))
        else:
            self._diff(Path(options["folder"]))

    def _check(self, folder: Path, given: bool) -> None:
        pack = _load(folder) if given else _published()
        verdict = cases.run(pack, folder)
        for problem in verdict.problems:
            self.stderr.write(problem)
        counted = f"{len(pack.rules)} rules, {len(pack.steps)} steps, {verdict.cases} cases"
        if verdict.problems:
            raise CommandError(f"{counted}: {len(verdict.problems)} faults.", returncode=2)
        self.stdout.write(f"{pack.name} {pack.version} ({pack.digest[:12]}): {counted}, sound.")

    def _diff(self, folder: Path) -> None:
        now, then = _published(), _load(folder)
        if now.digest == then.digest:
            self.stdout.write("The pack is the published one; nothing would change.")
            return
        touched = 0
        for job in Job.objects.filter(stage__in=OPEN).select_related("unit").order_by("number"):
            record = queries.record_of(job)
            before = derive(now, record.facts, record.history)
            after = derive(then, record.facts, record.history)
            told = list(_changes(before, after))
            touched += bool(told)
            for line in told:
                self.stdout.write(f"job {job.number} ({job.unit}): {line}")
        self.stdout.write(f"{touched} open jobs would change.")


def _changes(before: Checklist, after: Checklist) -> list[str]:
    told = [f"+ {key}" for key in after.by_key if key not in before.by_key]
    told += [f"- {key}" for key in before.by_key if key not in after.by_key]
    for key, step in after.by_key.items():
        old = before.by_key.get(key)
        if old is not None and old.stands and not step.stands:
            told.append(f"! {key} would be due again: {step.standing.why}")
        elif old is not None and old.gate != step.gate:
            told.append(f"~ {key} moves from gate {old.gate} to {step.gate}")
    return told


def _load(folder: Path) -> Pack:
    try:
        return reading_packs.load(folder)
    except PackError as error:
        raise CommandError(str(error), returncode=2) from None


def _published() -> Pack:
    try:
        return published.pack()
    except PackError as error:
        raise CommandError(str(error), returncode=2) from None
