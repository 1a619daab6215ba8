"""What is worth asking before anything is signed: one answer may take several steps away."""

from __future__ import annotations

from collections import Counter

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from checklists.engine.roles import StepRole
from checklists.engine.vocabulary import VOCABULARY, Fact
from shop.jobs.facts import label
from shop.jobs.next_act import acts
from shop.jobs.next_act.acts import Act, Choice
from shop.jobs.next_act.situation import TO_RELEASE, Situation

# One answer is one act: it has to be worth more than the one signature that it may save.
_WORTH = 2
# Trials without the fault are many acts under one signature.
_MANY_ACTS = 10


def ask(at: Situation) -> Act | None:
    """Ask for the fact that may take most away; None when none is worth it or nobody knows more."""
    if at.round("ask") or at.energised:
        return None
    worth = _worth(at)
    name = max(worth, key=lambda one: (worth[one], one), default="")
    if not name or worth[name] < _WORTH:
        return None
    fact = VOCABULARY[name]
    known = Choice(
        title=label(fact), kind="fact_recorded", data={"name": name}, needs=[_value(fact)]
    )
    unknown = Choice(
        title=gettext_noop("Nobody knows yet"), kind="round_finished", data={"round": "ask"}
    )
    why = _("The answer may take {count} steps off the list.").format(count=worth[name])
    return acts.choose(_("Ask: {fact}?").format(fact=label(fact).lower()), why, [known, unknown])


def _worth(at: Situation) -> Counter[str]:
    """Count the acts that are due only because a fact is not known, by fact."""
    worth: Counter[str] = Counter()
    for step in at.asked(*TO_RELEASE):
        times = _MANY_ACTS if step.step.role is StepRole.CLEAN_TRIALS else 1
        for name in step.missing if step.undetermined else ():
            worth[name] += 0 if VOCABULARY[name].computed else times
    return worth


def _value(fact: Fact) -> dict[str, object]:
    bounds = {"low": fact.low, "high": fact.high} if fact.kind in ("int", "double") else {}
    return acts.need("value", fact.kind, unit=fact.unit, one_of=fact.words, **bounds)
