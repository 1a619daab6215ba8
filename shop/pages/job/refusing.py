"""A refusal as the card shows it: its sentences, the steps that are missing, the pages that help."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _

from shop.lib.refusals import Refusal, Refused, UserFacingError

# Where what is missing can be done, by the code of the reason.
_WAYS = {
    "part-outstanding": ("job-parts", _("To the parts")),
    "no-need": ("job-parts", _("To the parts")),
    "estimate-open": ("estimate", _("To the estimate")),
    "no-soak": ("soak", _("To the soak")),
    "soak-running": ("soak", _("To the soak")),
    "soak-failed": ("soak", _("To the soak")),
    "soak-not-passed": ("soak", _("To the soak")),
    "soak-overtaken": ("soak", _("To the soak")),
    "not-on-record": ("trials", _("To the trials")),
    "no-new-look": ("job-write", _("Write down what was looked at")),
    "wrong-power": ("job-list", _("Mains, cover, stage")),
    "wrong-cover": ("job-list", _("Mains, cover, stage")),
    "cover-off": ("job-list", _("Mains, cover, stage")),
    "not-full": ("job-list", _("Mains, cover, stage")),
    "not-soaking": ("job-list", _("Mains, cover, stage")),
    "two-jobs": ("job", _("Join the two jobs")),
}


@dataclass(frozen=True)
class RefusedView:
    """What the card says in place of having done it."""

    sentences: list[str]
    steps: list[Refusal]
    # Names of addresses with their words.
    ways: list[tuple[str, Promise]]


def shown(error: UserFacingError | None) -> RefusedView | None:
    """Return an error ready for the card; None for None."""
    if error is None:
        return None
    if not isinstance(error, Refused):
        return RefusedView([str(error)], [], [])
    plain = [refusal for refusal in error.refusals if not refusal.step]
    ways = [_WAYS[refusal.code] for refusal in plain if refusal.code in _WAYS]
    return RefusedView([one.sentence for one in plain], error.unmet, list(dict.fromkeys(ways)))
