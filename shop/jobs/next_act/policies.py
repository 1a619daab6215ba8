"""The policies in their order: the first one that has an act gives it."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from checklists.engine.checklist import Checklist
from checklists.engine.words import ISOLATED
from shop.jobs import events, guards, ledger, sheets
from shop.jobs.models import Job
from shop.jobs.next_act import acts, asking, inside, mending, running, waiting
from shop.jobs.next_act.acts import Act
from shop.jobs.next_act.afterwards import afterwards
from shop.jobs.next_act.reaching import join, toward
from shop.jobs.next_act.situation import Situation
from shop.jobs.record import Record
from shop.jobs.stages import Stage

Policy = Callable[[Situation], Act | None]


def next_act(job: Job, now: datetime) -> Act:
    """Return the one thing to do with a job at `now` (aware); its ledger is read with one query."""
    record = events.reduce(job, ledger.read(job), now=now)
    return act_for(job, record, sheets.checklist_for(record), now)


def act_for(job: Job, record: Record, checklist: Checklist, now: datetime) -> Act:
    """Return the one thing to do, by a record and checklist that were read already."""
    at = Situation(job, record, checklist, now)
    found = (policy(at) for policy in _IN_ORDER)
    act = next((act for act in found if act is not None), None) or _look_at_the_list(at)
    comes_on = act.act == "power" and act.to != ISOLATED
    return (comes_on and mending.test_again(at)) or act


def _closed(at: Situation) -> Act | None:
    if not at.job.closed:
        return None
    left = None if at.job.joined_into_id else afterwards.first(at.record, at.now)
    return left or acts.NOTHING


def _plug_out(at: Situation) -> Act | None:
    """Treat as live: only the plug recorded out ends it."""
    if not at.job.unplug_due:
        return None
    return at.act(
        ("power", "isolated"), gettext_noop("A permit fell while mains was on: treat it as live.")
    )


def _no_longer(at: Situation) -> Act | None:
    """Take mains off when something has come up against it since it was granted."""
    if not at.job.energised:
        return None
    reasons = guards.against_lasting(at.job, at.record, at.checklist)
    return at.act(("power", "isolated"), reasons[0].sentence) if reasons else None


def _joined(at: Situation) -> Act | None:
    return join(at) if at.job.twins else None


def _hand_back(at: Situation) -> Act | None:
    """The customer declined: the unit goes back as it came, or made unusable where a fault is known."""
    if not at.declined:
        return None
    if at.failed is not None and at.unusable is not None:
        why = _("{title}: it failed, and nothing is mended.").format(title=at.failed.step.title)
        return toward(at, ("sign", at.unusable.key), why)
    return toward(
        at, ("stage", "withdrawn"), gettext_noop("The customer declined: it goes back unrepaired.")
    )


def _at_the_counter(at: Situation) -> Act | None:
    """Received: see the complaint while the unit is closed, then open it."""
    if at.stage not in (Stage.RECEIVED, Stage.REPRODUCING):
        return None
    act = asking.ask(at) or running.reproduce(at)
    if act is not None:
        return act
    return mending.bring_hands_in(at, gettext_noop("Now it is opened."))


def _on_the_bench(at: Situation) -> Act | None:
    """Opened: all that is done inside, then the cover on."""
    if at.stage != Stage.OPENED:
        return None
    act = inside.work_inside(at)
    if act is not None:
        return act
    if at.open:
        return inside.before_closing(at) or _close(at)
    return toward(at, ("stage", "reassembled"), _CLOSED)


_CLOSED = gettext_noop("It is closed, and nothing is left to do inside.")


def _close(at: Situation) -> Act | None:
    """The cover on, and then it is together again."""
    act = toward(at, ("cover", "on"), gettext_noop("Nothing is left to do inside."))
    if act is None or act.act != "cover":
        return act
    return acts.leading_to(act, at.act(("stage", "reassembled"), _CLOSED))


def _back_inside(at: Situation) -> Act | None:
    """Together again, but something inside is due after all."""
    if at.stage not in (Stage.REASSEMBLED, Stage.SOAKING):
        return None
    why = inside.needs_hands(at)
    return mending.bring_hands_in(at, why) if why else None


def _together(at: Situation) -> Act | None:
    return running.towards_soak(at) if at.stage == Stage.REASSEMBLED else None


def _soaking(at: Situation) -> Act | None:
    if at.stage != Stage.SOAKING:
        return None
    return running.soak_it(at) or running.prove(at)


_IN_ORDER: tuple[Policy, ...] = (
    # Safety
    _closed,
    _plug_out,
    _no_longer,
    inside.hands_first,
    # What comes before the way of the unit
    _joined,
    mending.mend,
    waiting.answer_of_the_customer,
    _hand_back,
    # The way of the unit
    _at_the_counter,
    waiting.parts_to_come,
    _back_inside,
    _on_the_bench,
    _together,
    _soaking,
)


def _look_at_the_list(at: Situation) -> Act:
    """No policy knows: a person has to look. What is in the way of mains says most."""
    why = gettext_noop("What is open does not follow from the record. Look at the list and decide.")
    return acts.open_page("job", gettext_noop("Look at the list of this job"), why)
