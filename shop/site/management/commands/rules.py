"""`manage.py rules check|prove|replay|diff|table`: is the pack sound, and what would another change."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError, CommandParser

from checklists import published
from checklists.engine import (
    bench_units,
    case_histories,
    cases,
    checking_hazards,
    honest,
    markdown,
    mutate,
    properties,
    prove,
    reading_packs,
    replay,
    stpa,
    typical,
)
from checklists.engine.happenings import HistoryError
from checklists.engine.pack import Pack, PackError
from checklists.engine.prove_histories import HistoryProver
from checklists.engine.prove_purposes import purposes
from checklists.engine.smt import NoSolver
from checklists.engine.strict_tables import TableError
from checklists.engine.ways_out import WaysOut
from shop.pages.rules import pack_changes


class Command(BaseCommand):
    """Checks packs and compares them."""

    help = "Check the pack with its cases, or show what another pack would change for open jobs."
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the subcommands."""
        ways = parser.add_subparsers(dest="way", required=True)
        check = ways.add_parser("check", help="load the pack and run its cases")
        check.add_argument("--pack", metavar="DIR")
        prove_ = ways.add_parser("prove", help="prove the pack's properties over every unit")
        prove_.add_argument("--pack", metavar="DIR")
        prove_.add_argument(
            "--out", metavar="DIR", help="write counterexamples here as facts files"
        )
        mutate_ = ways.add_parser("mutate", help="take each line of the table of hazards away")
        mutate_.add_argument("--pack", metavar="DIR")
        replay_ = ways.add_parser("replay", help="walk a history of one unit, event by event")
        replay_.add_argument("file", metavar="FILE.json")
        replay_.add_argument("--pack", metavar="DIR")
        ways.add_parser("table", help="which event ends which sign-off, in Markdown")
        diff = ways.add_parser("diff", help="what a pack folder would change for open jobs")
        diff.add_argument("folders", metavar="[OLD] NEW", nargs="+")

    def handle(self, *args: Any, **options: Any) -> None:
        """Run the subcommand; exit 2 when the pack is not sound."""
        if options["way"] == "diff":
            self._diff([Path(folder) for folder in options["folders"]])
            return
        if options["way"] == "table":
            self.stdout.write(markdown.steps_by_event(_published()), ending="")
            return
        folder = Path(options["pack"] or settings.PACK_FOLDER)
        pack = _load(folder) if options["pack"] else _published()
        if options["way"] == "replay":
            self._replay(folder, pack, Path(options["file"]))
        elif options["way"] == "mutate":
            self._mutate(folder)
        elif options["way"] == "check":
            self._check(folder, pack)
        else:
            self._prove_or_say(folder, pack, Path(options["out"]) if options["out"] else None)

    def _replay(self, folder: Path, pack: Pack, file: Path) -> None:
        """Print what each event leads to; exit 1 when one is refused, 2 when the file is none."""
        try:
            told = replay.replay(pack, _history(file), honest.read(folder))
        except (HistoryError, TableError) as error:
            raise CommandError("\n".join(error.problems), returncode=2) from None
        for event in told:
            self.stdout.write("\n".join(event.lines()))
        refused = sum(bool(event.refused) for event in told)
        if refused:
            raise CommandError(f"{refused} of {len(told)} events are refused.", returncode=1)
        self.stdout.write(f"{len(told)} events, none refused.")

    def _mutate(self, folder: Path) -> None:
        """Print what kills each mutant; exit 2 when one survives."""
        try:
            hunt = mutate.Hunt(folder)
        except (PackError, HistoryError) as error:
            raise CommandError("\n".join(error.problems), returncode=2) from None
        counts: Counter[str] = Counter()
        for place, fate in enumerate(hunt.fates(), 1):
            counts[fate.kind] += 1
            self.stdout.write(
                f"[{place}/{len(hunt.mutants)}] {fate.kind:10} {fate.mutant}: {fate.killer}"
            )
        summary = ", ".join(f"{count} {kind}" for kind, count in counts.most_common())
        if counts[mutate.SURVIVED] or hunt.strays():
            strays = "; no such mutant: " + ", ".join(hunt.strays()) if hunt.strays() else ""
            raise CommandError(f"{summary}{strays}.", returncode=2)
        self.stdout.write(f"{len(hunt.mutants)} mutants: {summary}.")

    def _check(self, folder: Path, pack: Pack) -> None:
        report = cases.run(pack, folder)
        histories = self._walk(folder, pack, report)
        analysis = self._answers(folder, pack, report) + self._bench_units(folder, pack, report)
        report.problems += self._idle_holds(folder, pack)
        report.problems += self._gates(folder, pack)
        for problem in report.problems:
            self.stderr.write(problem)
        counted = f"{len(pack.rules)} rules, {len(pack.steps)} steps, {report.cases} cases, {histories} histories{analysis}"
        if report.problems:
            raise CommandError(f"{counted}: {len(report.problems)} faults.", returncode=2)
        self.stdout.write(f"{pack.name} {pack.version} ({pack.digest[:12]}): {counted}, sound.")

    def _walk(self, folder: Path, pack: Pack, report: cases.Report) -> int:
        """Walk the histories beside the pack; return how many there are."""
        try:
            histories, hands = case_histories.read(folder), case_histories.hands_of(folder)
        except HistoryError as error:
            report.problems += error.problems
            return 0
        for place, case in enumerate(histories, 1):
            report.problems += case_histories.judge(pack, case, hands)
            if place % 50 == 0 or place == len(histories):
                self.stdout.write(f"[{place}/{len(histories)}] histories walked")
        return len(histories)

    def _answers(self, folder: Path, pack: Pack, report: cases.Report) -> str:
        """Check the analysis beside the pack; return how many rows it has, in words."""
        try:
            analysis, hands = stpa.read(folder), case_histories.hands_of(folder)
        except (stpa.StpaError, HistoryError) as error:
            report.problems += error.problems
            return ""
        if analysis is None:
            return ""
        report.problems += stpa.problems(analysis, pack, folder, hands)
        return f", {len(analysis.rows)} ways to go wrong ({analysis.left_open} open)"

    def _bench_units(self, folder: Path, pack: Pack, report: cases.Report) -> str:
        """Check the words of the units on the bench; return how many there are, in words."""
        try:
            units = bench_units.read(folder)
        except bench_units.BenchUnitsError as error:
            report.problems += error.problems
            return ""
        report.problems += bench_units.problems(units, pack)
        counted = f", {len(units.healthy)} healthy and {len(units.sick)} sick units"
        return counted if units.healthy or units.sick else ""

    def _idle_holds(self, folder: Path, pack: Pack) -> list[str]:
        """Print the hold steps that clear no hazard; return a fault for each one of the folder."""
        idle = checking_hazards.idle_holds(pack)
        keys = ", ".join(step.key for step in idle) or "none"
        self.stdout.write(f"Hold steps that clear no hazard: {keys}.")
        shipped = [step for step in idle if (folder / f"{step.file}.toml").exists()]
        return [
            f"Step {step.key} is a hold and clears no hazard; name it in cleared_by."
            for step in shipped
        ]

    def _gates(self, folder: Path, pack: Pack) -> list[str]:
        """Print how long the gates of typical units are; return a fault for each too long one."""
        for line in typical.table(pack, folder):
            self.stdout.write(line)
        return [f"Too long to be passed: {line}." for line in typical.long_gates(pack, folder)]

    def _prove_or_say(self, folder: Path, pack: Pack, out: Path | None) -> None:
        try:
            self._prove(folder, pack, out)
        except NoSolver as missing:
            raise CommandError(str(missing), returncode=2) from None

    def _prove(self, folder: Path, pack: Pack, out: Path | None) -> None:
        try:
            to_prove = properties.read(folder, pack)
        except properties.PropertyError as error:
            raise CommandError(str(error), returncode=2) from None
        prover, shipped = prove.Prover(pack), reading_packs.parts(folder).steps
        counts = Counter(dict.fromkeys(prove.Verdict, 0))
        for place, wanted in enumerate(to_prove, 1):
            proof = prover.check(wanted)
            self.stdout.write(f"[{place}/{len(to_prove)}] {proof.verdict:10} {proof.id}")
            counts[proof.verdict] += 1
            self._explain(proof, out)
        for place, proof in enumerate(_of_every_pack(pack, prover, shipped), 1):
            if place % 100 == 0 or proof.id.startswith("ways-out/"):
                self.stdout.write(f"[{place}] {proof.verdict:10} {proof.id} {proof.why}".rstrip())
            counts[proof.verdict] += 1
            self._explain(proof, out)
        summary = ", ".join(f"{count} {verdict}" for verdict, count in counts.items())
        if counts[prove.Verdict.REFUTED] or counts[prove.Verdict.OPEN]:
            raise CommandError(f"{summary}.", returncode=2)
        self.stdout.write(
            f"{summary}: {len(to_prove)} properties, the structure of the"
            " pack, every history, and a way out of every state."
        )

    def _explain(self, proof: prove.Proof, out: Path | None) -> None:
        """Print what is not proved with the unit that slips through, and write that unit to `out`."""
        if proof.verdict is prove.Verdict.PROVED:
            return
        self.stderr.write(f"{proof.verdict}: {proof.id}: {proof.says} ({proof.why})")
        if proof.facts is None:
            return
        # A history is for `rules replay`, facts alone are for `checklist`.
        history = {"facts": proof.facts, "events": list(proof.events)}
        # What is left out there means nothing found and nothing done; here it is not known.
        facts = {"findings": None, "work": None, **proof.facts}
        shown = history if proof.events else facts
        unit = json.dumps(shown, ensure_ascii=False, indent=2)
        opened = ", opened earlier in the job" if proof.touched else ""
        self.stderr.write(f"The unit{opened}:\n{unit}")
        if out is not None:
            out.mkdir(parents=True, exist_ok=True)
            (out / f"{proof.id.replace('/', '-')}.json").write_text(unit + "\n", encoding="utf-8")

    def _diff(self, folders: list[Path]) -> None:
        if len(folders) > 2:
            raise CommandError("Name one folder, or an old and a new one.", returncode=2)
        then = _load(folders[-1])
        now = _load(folders[0]) if len(folders) == 2 else published.current()
        if now.digest == then.digest:
            self.stdout.write("The two packs are the same; nothing would change.")
            return
        touched = 0
        for change in pack_changes.for_open_jobs(now, then):
            touched += 1
            for line in change.lines:
                self.stdout.write(f"job {change.job.number} ({change.job.unit}): {line}")
        self.stdout.write(f"{touched} open jobs would change.")


def _of_every_pack(
    pack: Pack, prover: prove.Prover, shipped: Iterable[str]
) -> Iterator[prove.Proof]:
    """Yield what every pack must show, whatever it says."""
    yield from prover.structure()
    yield from HistoryProver(pack, prover).check()
    yield from WaysOut(pack).check()
    yield from purposes(pack, shipped)


def _history(file: Path) -> object:
    try:
        return json.loads(file.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError, RecursionError, ValueError) as error:
        raise HistoryError([f"{file} cannot be read as JSON: {error}."]) from None


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
