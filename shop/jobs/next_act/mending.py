"""What follows a step that failed: it is put right, and only then signed again."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from checklists.engine.acts import OUTSIDE_WORK
from checklists.engine.checklist import ListedStep
from checklists.engine.vocabulary import WORK
from checklists.engine.words import HANDS, ISOLATED
from shop.jobs.next_act import acts
from shop.jobs.next_act.acts import Act, Choice
from shop.jobs.next_act.reaching import toward
from shop.jobs.next_act.situation import Situation
from shop.lib.text import spaced

_BEFORE_HANDS = ("open-up", "hands-in")


def mend(at: Situation) -> Act | None:
    """Return what is done about the first step that failed; None when none has.

    A unit that goes back unrepaired is made unusable instead, where the list has that step; what
    failed before hands come in is put right even so, for it is hands that do that.
    """
    failed = at.failed
    if failed is None:
        return None
    before_hands = failed.gate in _BEFORE_HANDS or failed in at.asked(HANDS)
    if at.declined and at.unusable is not None and not before_hands:
        return None
    why = _("{title}: it failed.").format(title=failed.step.title)
    if at.energised:
        return at.act(("power", "isolated"), why)
    if before_hands:
        return _put_right(failed, why, [])
    if _may_be_outside(at, failed):
        return _put_right(failed, why, [*_outside_work(), _it_is_inside()])
    return bring_hands_in(at, why) or _put_right(failed, why, [*inside_work(), _nothing_replaced()])


def test_again(at: Situation) -> Act | None:
    """Return the test that failed and can be done again with the plug out, before mains comes on.

    That something was done since is no proof that it was the cause.
    """
    for step in at.to_do:
        failed = step.state == "failed" and step.step.needs_power == (ISOLATED,)
        if failed and not at.against(("sign", step.key)):
            return at.act(
                ("sign", step.key), gettext_noop("It failed: it is tested again before mains.")
            )
    return None


def bring_hands_in(at: Situation, why: str) -> Act | None:
    """Return the next act on the way to safe hands in the open unit; None once they are."""
    if at.energised:
        return at.act(("power", "isolated"), why)
    if at.stage in ("received", "reproducing") and not at.open:
        # The plug and what is asked before opening are seen to before it changes its place.
        act = toward(at, ("cover", "off"), why)
        if act and not act.changes_state:
            return act
        opened = at.act(("stage", "opened"), why)
        return acts.leading_to(opened, act) if act and act.act == "cover" else opened
    if at.stage != "opened":
        return toward(at, ("stage", "opened"), why)
    return toward(at, ("hands", ""), why) if at.against(("hands", "")) else None


def _may_be_outside(at: Situation, failed: ListedStep) -> bool:
    """Whether it may be put right without opening: nobody has said yet that it cannot be."""
    outside = not at.open and failed.step.needs_cover != "off"
    return outside and at.round("outside") < at.failed_at(failed)


def _put_right(failed: ListedStep, why: str, choices: list[Choice]) -> Act:
    title = _("Put it right: {title}").format(
        title=failed.step.title[0].lower() + failed.step.title[1:]
    )
    return acts.choose(title, why, choices or [_nothing_replaced()])


def _outside_work() -> list[Choice]:
    words = [word for word in WORK if word in OUTSIDE_WORK]
    return [
        Choice(
            title=_("{work}, from outside").format(work=spaced(word).capitalize()),
            kind="work_done",
            data={"work": word, "from_outside": True},
        )
        for word in words
    ]


def _it_is_inside() -> Choice:
    return Choice(
        title=gettext_noop("It has to be opened for that"),
        kind="round_finished",
        data={"round": "outside"},
    )


def _nothing_replaced() -> Choice:
    return Choice(
        title=gettext_noop("Put right, and nothing else to write down"),
        kind="round_finished",
        data={"round": "mend"},
    )


def inside_work() -> list[Choice]:
    """Return every kind of work as a row to write; `other` is told in words."""
    return [_work(word) for word in WORK]


def _work(word: str) -> Choice:
    words = [acts.need("note", "string")] if word == "other" else []
    title = spaced(word).capitalize()
    return Choice(title=title, kind="work_done", data={"work": word}, needs=words)
