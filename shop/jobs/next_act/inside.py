"""The unit on the bench, open: proved dead, looked at, searched, worked on, tested, closed."""

from __future__ import annotations

from collections.abc import Callable

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from checklists.engine.checklist import ListedStep
from checklists.engine.vocabulary import FINDINGS
from checklists.engine.words import FULL, ISOLATED, LIMITED
from shop.jobs import suspecting
from shop.jobs.next_act import acts
from shop.jobs.next_act.acts import Act, Choice
from shop.jobs.next_act.mending import bring_hands_in, inside_work
from shop.jobs.next_act.reaching import ends_with_the_cover, toward
from shop.jobs.next_act.situation import Situation
from shop.jobs.stages import Stage
from shop.lib.text import spaced


def hands_first(at: Situation) -> Act | None:
    """Open, isolated and not proved dead: that comes before anything else."""
    if at.energised or not at.open or at.stage == "awaiting_parts":
        return None
    reasons = at.against(("hands", ""))
    return (
        toward(at, ("hands", ""), gettext_noop("The unit is open: treat it as charged."))
        if reasons
        else None
    )


def needs_hands(at: Situation) -> str:
    """Say why the unit has to be opened, or stay open; empty when it need not."""
    for due, why in _DUE:
        if due(at):
            return why
    inside = [step for step in at.to_do if step.step.needs_cover == "off"]
    return (
        _("{title}: this is done with the cover off.").format(title=inside[0].step.title)
        if inside
        else ""
    )


def work_inside(at: Situation) -> Act | None:
    """Return the next act inside; None when nothing inside is left."""
    why = needs_hands(at)
    if not why:
        return None
    if _wants_mains_inside(at):
        return _tests_inside(at)
    act = bring_hands_in(at, why)
    if act is not None:
        return act
    for do in (_look, _search, _work, _fit, _tests_inside):
        if (act := do(at)) is not None:
            return act
    return None


def _wants_mains_inside(at: Situation) -> bool:
    """Whether the open unit has mains for what is measured so."""
    under_mains = [s for s in at.to_do if s.step.needs_cover == "off" and at.job.energised]
    return any(at.job.power in step.step.needs_power for step in under_mains)


def _closed_at(at: Situation) -> int:
    """Return the row that said it is together again; what lies before it is done with."""
    if at.stage not in (Stage.REASSEMBLED, Stage.SOAKING):
        return 0
    moved = at.record.of_type("stage_changed")
    return at.last(row.sequence for row in moved if row.data.get("to") == Stage.REASSEMBLED)


def _look_due(at: Situation) -> bool:
    arrived = 1
    return max(at.round("look"), _closed_at(at)) < max(at.fault_at, arrived)


def _search_due(at: Situation) -> bool:
    """Whether nothing that was found explains what the customer complains of."""
    explained = at.record.findings or "confirmed" in at.record.suspects.values()
    seen = at.fault_at and at.round("search") < at.fault_at
    return bool(seen and not explained and not at.record.repair_rows)


def _cause_at(at: Situation) -> int:
    """The row that last gave something to work on."""
    confirmed = [
        row.sequence
        for row in at.record.of_type("suspect_changed")
        if row.data.get("change") == "confirmed"
    ]
    findings = [row.sequence for row in at.record.of_type("finding_recorded")]
    return at.last([at.fault_at, *confirmed, *findings])


def _work_due(at: Situation) -> bool:
    return max(at.round("work"), _closed_at(at)) < _cause_at(at)


def _fit_due(at: Situation) -> bool:
    return any(need.arrived and not need.fitted for need in at.record.needs)


_DUE: tuple[tuple[Callable[[Situation], bool], str], ...] = (
    (
        _look_due,
        gettext_noop("Nobody has looked inside since it came, or since the fault was seen."),
    ),
    (_work_due, gettext_noop("Something was found or seen that asks for work.")),
    (_fit_due, gettext_noop("A part is here and not in the unit yet.")),
)


def _look(at: Situation) -> Act | None:
    if not _look_due(at):
        return None
    choices = [_finding(word) for word in FINDINGS]
    nothing = Choice(
        title=gettext_noop("Nothing more to be found"),
        kind="round_finished",
        data={"round": "look"},
    )
    why = gettext_noop("Look all over the inside before anything is changed.")
    return acts.choose(gettext_noop("Look inside: what do you find?"), why, [*choices, nothing])


def _finding(word: str) -> Choice:
    words = [acts.need("note", "string")] if word == "other" else []
    title = spaced(word).capitalize()
    return Choice(title=title, kind="finding_recorded", data={"finding": word}, needs=words)


def _search(at: Situation) -> Act | None:
    if not _search_due(at):
        return None
    first = suspecting.search_of(at.record, at.checklist).first
    if first is None:
        return None
    choices = [
        Choice(
            title=said.format(title=first.title),
            kind="suspect_changed",
            data={"suspect": first.key, "change": change},
        )
        for said, change in (
            (_("This is it: {title}"), "confirmed"),
            (_("It is not this: {title}"), "ruled-out"),
        )
    ]
    leave = Choice(
        title=gettext_noop("Search no further"), kind="round_finished", data={"round": "search"}
    )
    return acts.choose(
        _("Find the cause: {title}").format(title=first.title), first.test, [*choices, leave]
    )


def _work(at: Situation) -> Act | None:
    if not _work_due(at):
        return None
    part = Choice(
        title=gettext_noop("A part is needed"),
        kind="part_needed",
        needs=[acts.need("spec", "string")],
    )
    done = Choice(
        title=gettext_noop("All work is done"), kind="round_finished", data={"round": "work"}
    )
    why = gettext_noop(
        "Write down each piece of work as it is done; it says what has to be tested."
    )
    act = acts.choose(gettext_noop("What was done?"), why, [*inside_work(), part, done])
    if at.record.estimate != "none":
        return act
    return acts.with_first(
        act, "estimate", gettext_noop("No price is agreed yet: write an estimate")
    )


def _fit(at: Situation) -> Act | None:
    needs = [need for need in at.record.needs if need.arrived and not need.fitted]
    if not needs:
        return None
    need = needs[0]
    choice = Choice(
        title=_("Fit it: {part}").format(part=need.spec),
        kind="part_fitted",
        data={"need": need.sequence},
    )
    return acts.record(choice, gettext_noop("It is here."))


def _tests_inside(at: Situation) -> Act | None:
    """Sign what is tested with the cover off: dead first, then on the limiter."""
    inside = [step for step in at.to_do if _is_inside(step, at)]
    inside.sort(key=lambda step: bool(at.against(("sign", step.key))))
    for step in inside:
        act = toward(
            at, ("sign", step.key), gettext_noop("It is done with the cover off, before mains.")
        )
        if act is not None:
            return act
    return None


def before_closing(at: Situation) -> Act | None:
    """Sign what mains asks and the open unit shows better, such as a solvent that has gone."""
    for step in at.asked(LIMITED, FULL):
        own = step.step
        shown = own.needs_power == (ISOLATED,) and not (own.of_the_bench or own.of_the_closed_unit)
        if shown and not ends_with_the_cover(step) and not at.against(("sign", step.key)):
            return toward(
                at, ("sign", step.key), gettext_noop("It is seen better before the unit is closed.")
            )
    return None


def _is_inside(step: ListedStep, at: Situation) -> bool:
    """Whether it is done before the unit is closed: it needs the cover off, or hands may be in."""
    own = step.step
    if own.of_the_bench or own.of_the_closed_unit:
        return False
    return own.needs_cover == "off" or (own.at_the_unit and not at.energised)
