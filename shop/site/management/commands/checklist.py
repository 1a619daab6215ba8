"""`manage.py checklist FACTS.json`: derive a checklist without a database."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from checklists import published
from checklists.engine import asking, explain, prove, reading_packs
from checklists.engine.checklist import Checklist, ListedStep
from checklists.engine.deduced import with_deduced
from checklists.engine.derive import derive
from checklists.engine.pack import Pack, PackError
from checklists.engine.smt import NoSolver
from checklists.engine.solver import NotTranslated
from checklists.engine.vocabulary import FactError, Facts, accept
from checklists.engine.words import GATES
from shop.api.derived import checklist_out
from shop.preferences import current as preferences


class Command(BaseCommand):
    """Reads one flat JSON object of facts and prints the checklist, or why a step is there."""

    help = (
        "Derive the checklist for a file of facts. A fact that is absent is not known and keeps"
        " its steps; but where findings or work are absent, nothing has been found or done yet."
    )
    requires_system_checks: list[str] = []

    def add_arguments(self, parser: CommandParser) -> None:
        """Declare the arguments."""
        parser.add_argument("facts", help="a JSON file with one flat object of facts")
        parser.add_argument("--json", action="store_true", help="print JSON")
        parser.add_argument("--gate", help="only the steps of this gate")
        parser.add_argument("--why", metavar="STEP", help="why a step is on the list, or is not")
        parser.add_argument(
            "--pack", metavar="DIR", help="a pack folder instead of the published one"
        )

    def handle(self, *args: Any, **options: Any) -> None:
        """Run it; exit 2 with a sentence for anything that cannot be read."""
        pack = _pack(options["pack"])
        facts = _facts(Path(options["facts"]))
        if options["gate"] and options["gate"] not in GATES:
            raise _bad(f"gate is {options['gate']!r}; it must be one of {', '.join(GATES)}.")
        if options["why"]:
            self._why(pack, facts, options["why"], as_json=options["json"])
            return
        checklist = derive(pack, facts)
        if options["gate"]:
            steps_of_gate = tuple(step for step in checklist.steps if step.gate == options["gate"])
            checklist = replace(checklist, steps=steps_of_gate)
        if options["json"]:
            self.stdout.write(json.dumps(checklist_out(checklist), indent=2, ensure_ascii=False))
        else:
            self._words(checklist)

    def _words(self, checklist: Checklist) -> None:
        pack = checklist.pack
        self.stdout.write(f"{pack.name} {pack.version} ({pack.digest[:12]})")
        folded = {step.key for steps in checklist.undecided.values() for step in steps}
        phase = ""
        for step in checklist.steps:
            if step.key in folded:
                continue
            if step.step.phase != phase:
                phase = step.step.phase
                self.stdout.write(f"\n{phase}")
            self._step(step)
        self._questions(checklist)

    def _step(self, step: ListedStep) -> None:
        card = f", card: {step.step.together}" if step.step.together else ""
        hold = f"  [hold: {step.gate}{card}]" if step.step.hold else ""
        unsure = "  (kept: not decided)" if step.undetermined else ""
        self.stdout.write(f"  {step.key}: {step.step.title}{hold}{unsure}")
        for reading in step.readings:
            self.stdout.write(f"      {reading.title}: {reading.range}")
        for answer in step.answers:
            self.stdout.write(f"      asks for {answer.fact}")

    def _questions(self, checklist: Checklist) -> None:
        """Print what to find out: for the next gate, for service steps not decided, and all of it."""
        gate = asking.next_gate(checklist)
        if gate and checklist.asks:
            holds, cards = len(checklist.unmet(gate)), len(checklist.open_cards(gate))
            self.stdout.write(f"\nNext gate, {gate}: {holds} to sign on {cards} cards. Ask first:")
            for ask in checklist.asks:
                self.stdout.write(f"  {ask.fact} takes up to {ask.holds} away")
        if checklist.undecided:
            self.stdout.write("\nService steps that are not decided, by the fact that decides:")
            for name, steps in checklist.undecided.items():
                self.stdout.write(f"  {name}: {len(steps)}")
        if checklist.missing_facts:
            self.stdout.write(f"\nWorth finding out: {', '.join(checklist.missing_facts)}")

    def _why(self, pack: Pack, facts: Facts, step: str, *, as_json: bool) -> None:
        if step not in pack.steps:
            raise _bad(f"step is {step!r}; the pack has no step of that key.")
        traces = explain.why(pack, facts, step)
        if as_json:
            on_list = any(trace.outcome != "miss" for trace in traces)
            smallest = () if on_list else self._all_of(pack, facts, step)
            shape = _why_json(step, traces, smallest)
            self.stdout.write(json.dumps(shape, indent=2, ensure_ascii=False))
            return
        on_list = any(trace.outcome != "miss" for trace in traces)
        self.stdout.write(f"{step} is {'on' if on_list else 'not on'} the list.")
        if not on_list:
            self._turn("The smallest change that would bring it", self._all_of(pack, facts, step))
        for trace in traces:
            self.stdout.write(f"\nRule {trace.rule.id}: {trace.outcome} ({trace.rule.source})")
            self._part(trace.condition, 1)
            self._turn("It would be required with", trace.would_bring)
            self._turn("It would not be required by this rule with", trace.would_remove)

    def _part(self, part: explain.ConditionPart, depth: int) -> None:
        read = "; ".join(f"{name} = {json.dumps(value)}" for name, value in part.facts.items())
        text = f"{part.join}:" if part.join else f"{part.text}" + (f"   [{read}]" if read else "")
        self.stdout.write(f"{'  ' * depth}{part.truth:8} {text}")
        for below in part.parts:
            self._part(below, depth + 1)

    def _all_of(self, pack: Pack, facts: Facts, step: str) -> tuple[tuple[str, Any], ...]:
        """Return the facts of the smallest change that brings an absent step, if one is known."""
        try:
            return tuple((prove.smallest_change(pack, facts, step) or {}).items())
        except NoSolver as missing:
            self.stderr.write(str(missing))
        except NotTranslated:
            pass
        return ()

    def _turn(self, words: str, changes: tuple[tuple[str, Any], ...]) -> None:
        if changes:
            joined = " and " if words.startswith("The smallest") else "; or "
            text = joined.join(f"{name} = {json.dumps(value)}" for name, value in changes[:6])
            self.stdout.write(f"  {words}: {text}")


def _why_json(
    step: str, traces: list[explain.RuleTrace], smallest: tuple[tuple[str, Any], ...]
) -> dict[str, Any]:
    return {
        "step": step,
        "smallest_change": dict(smallest),
        "on_list": any(trace.outcome != "miss" for trace in traces),
        "rules": [
            {
                "rule": trace.rule.id,
                "outcome": str(trace.outcome),
                "missing": list(trace.missing),
                "source": trace.rule.source,
                "condition": trace.condition.as_dict(),
                "would_bring": [{"fact": n, "value": v} for n, v in trace.would_bring],
                "would_remove": [{"fact": n, "value": v} for n, v in trace.would_remove],
            }
            for trace in traces
        ],
    }


def _bad(sentence: str) -> CommandError:
    return CommandError(sentence, returncode=2)


def _pack(folder: str | None) -> Pack:
    try:
        return reading_packs.load(Path(folder)) if folder else published.pack()
    except PackError as error:
        raise _bad(str(error)) from None


def _facts(file: Path) -> Facts:
    """Return the facts of a file; findings and work are none where it says nothing of them.

    null says that it is not known what was found or done.
    """
    try:
        content = json.loads(file.read_text(encoding="utf-8"))
    except OSError as error:
        raise _bad(f"{file} cannot be read: {error.strerror}.") from None
    except (ValueError, RecursionError) as error:
        raise _bad(f"{file} is not JSON: {error}.") from None
    if not isinstance(content, dict):
        raise _bad(f"{file} holds {type(content).__name__}; it must hold one flat JSON object.")
    sockets = preferences.without_database("mains_volts")
    mains = {"shop.mains_volts": sockets} if sockets else {}
    practice = preferences.without_database("practice")
    known = {"shop.practice": practice, **mains, "findings": [], "work": [], **content}
    untold = {name for name in ("findings", "work") if known[name] is None}
    try:
        return with_deduced(accept({n: v for n, v in known.items() if n not in untold}))
    except FactError as error:
        raise _bad(str(error)) from None
