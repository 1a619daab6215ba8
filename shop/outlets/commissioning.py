"""The test of an outlet before any permit enables it, question by question, and what was seen.

Whoever tests uses a lamp as the unit: a job of its own, which claims the outlet and gets mains by
a permit as any other. So nothing is ever enabled without one, also not for a test.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from shop.accounts import roles
from shop.lib import text
from shop.lib.refusals import BadInput, refuse
from shop.outlets import services
from shop.outlets.models import COMMISSIONED, REPORTS, UNDER_TEST, Commissioning, Outlet
from shop.outlets.queries import Now

YES, NO = "yes", "no"
ELECTRICIAN = "electrician"


@dataclass(frozen=True, slots=True)
class Question:
    """One step: what to do, what to look at, the answer of a sound outlet, and what a wrong one means."""

    key: str
    do: str
    ask: str
    right: str
    wrong: str


QUESTIONS = (
    Question("residual-current", gettext_noop("Press the test button of the residual-current device in front of the outlet. Reset it."), gettext_noop("Did it trip?"), YES, gettext_noop("Its residual-current device does not trip.")),
    Question("dead-button", gettext_noop("The plug of the test lamp is in, and its job has no permit. Press the green button of the outlet."), gettext_noop("Did the lamp light?"), NO, gettext_noop("It closes without an enable.")),
    Question("no-closing", gettext_noop("Record mains on for the job of the lamp. Wait until this page says that the enable is held. Touch nothing."), gettext_noop("Did the lamp light by itself?"), NO, gettext_noop("An enable closes it: it restores itself.")),
    Question("closing", gettext_noop("Press the green button."), gettext_noop("Did the lamp light?"), YES, gettext_noop("Its button does not close it.")),
    Question("red-button", gettext_noop("Press the red button, then the green one again."), gettext_noop("Did the lamp go dark, and light again?"), YES, gettext_noop("Its own button does not open it.")),
    Question("permit-falls", gettext_noop("Record the plug of the lamp as out. Leave it in."), gettext_noop("Was the lamp dark within two seconds?"), YES, gettext_noop("It does not open when the permit falls.")),
    Question("no-return", gettext_noop("Record mains on again, and wait until the enable is held. Touch nothing."), gettext_noop("Did the lamp light by itself?"), NO, gettext_noop("An enable that returns closes it: it restores itself.")),
    Question("network-gone", gettext_noop("Press the green button. Then pull the network cable of the outlet, or switch off its access point."), gettext_noop("Was the lamp dark within two seconds?"), YES, gettext_noop("It does not open when the network goes.")),
    Question("network-back", gettext_noop("Give it its network back, and wait until the enable is held. Touch nothing."), gettext_noop("Did the lamp light by itself?"), NO, gettext_noop("It closes when the network comes back: it restores itself.")),
    Question("worker-gone", gettext_noop("Press the green button. Then stop Benchtag, or the machine that it runs on."), gettext_noop("Was the lamp dark within two seconds?"), YES, gettext_noop("It does not open when the worker dies.")),
    Question("worker-back", gettext_noop("Start Benchtag again, and wait until the enable is held. Touch nothing."), gettext_noop("Did the lamp light by itself?"), NO, gettext_noop("It closes when the worker comes back: it restores itself.")),
    Question("supply-back", gettext_noop("Press the green button. Then switch off the mains of the outlet itself for ten seconds, switch it on again, and wait until the enable is held."), gettext_noop("Did the lamp light by itself?"), NO, gettext_noop("It closes when mains comes back: it has no no-voltage release.")),
)  # fmt: skip


def begin(outlet: Outlet, *, by: User) -> None:
    """Let permits enable an outlet, for its test; Refused where its connection is not fit for that."""
    roles.require(by, services.ABILITY)
    reasons = services.against_enables(outlet)
    if reasons:
        raise refuse("connection", " ".join(reasons))
    Outlet.objects.filter(pk=outlet.pk).update(use=UNDER_TEST)


def finish(
    outlet: Outlet, answers: Mapping[str, str], reported: Now, *, by: User, at: datetime
) -> Commissioning:
    """Record what was seen, and let permits enable the outlet from now on when all of it was right.

    One wrong answer, and it only reports. BadInput for each question that has no answer.
    """
    roles.require(by, services.ABILITY)
    kept = _all_answered(answers)
    passed = not wrong(kept)
    if passed and reported.enabled is None:
        raise refuse(
            "not-heard",
            _(
                "{outlet} has not reported whether it is enabled. Bring it back, then keep the "
                "test."
            ).format(outlet=outlet),
        )
    with transaction.atomic():
        tested = Outlet.objects.select_for_update().get(pk=outlet.pk)
        if tested.use != UNDER_TEST or tested.edition != outlet.edition:
            raise refuse(
                "not-begun",
                _("The test of {outlet} was not begun, or it was changed since.").format(
                    outlet=outlet
                ),
            )
        tested.use = COMMISSIONED if passed else REPORTS
        tested.save(update_fields=["use"])
        return Commissioning.objects.create(
            outlet=tested, at=at, by=by, edition=tested.edition, answers=kept, passed=passed
        )


def _all_answered(answers: Mapping[str, str]) -> dict[str, str]:
    problems = []
    for one in QUESTIONS:
        if answers.get(one.key) not in (YES, NO):
            problems.append(
                (
                    one.key,
                    _("{ask} {key} has no answer; tick yes or no.").format(
                        ask=one.ask, key=one.key
                    ),
                )
            )
    if problems:
        raise BadInput(problems)
    name = text.take(ELECTRICIAN, answers.get(ELECTRICIAN, ""), 200, needed=True)
    return {**{one.key: answers[one.key] for one in QUESTIONS}, ELECTRICIAN: name}


def wrong(answers: Mapping[str, str]) -> list[str]:
    """Return what answers say against an outlet."""
    return [_(one.wrong) for one in QUESTIONS if answers.get(one.key) != one.right]
