"""A refusal as the card shows it: its sentences, the steps that are missing, the pages that help."""

from __future__ import annotations

from dataclasses import dataclass

from shop.lib.refusals import Refusal, Refused, UserFacingError

# Where what is missing can be done, by the code of the reason.
_WAYS = {
    "part-outstanding": ("job-parts", "To the parts"),
    "no-need": ("job-parts", "To the parts"),
    "estimate-open": ("estimate", "To the estimate"),
    "no-soak": ("soak", "To the soak"),
    "soak-running": ("soak", "To the soak"),
    "soak-failed": ("soak", "To the soak"),
    "soak-not-passed": ("soak", "To the soak"),
    "soak-overtaken": ("soak", "To the soak"),
    "not-on-record": ("trials", "To the trials"),
    "no-new-look": ("job-write", "Write down what was looked at"),
    "wrong-power": ("job-list", "Mains, cover, stage"),
    "wrong-cover": ("job-list", "Mains, cover, stage"),
    "cover-off": ("job-list", "Mains, cover, stage"),
    "not-full": ("job-list", "Mains, cover, stage"),
    "not-soaking": ("job-list", "Mains, cover, stage"),
    "two-jobs": ("job", "Join the two jobs"),
}


@dataclass(frozen=True)
class RefusedView:
    """What the card says in place of having done it."""

    sentences: list[str]
    steps: list[Refusal]
    # Names of addresses with their words.
    ways: list[tuple[str, str]]


def shown(error: UserFacingError | None) -> RefusedView | None:
    """Return an error ready for the card; None for None."""
    if error is None:
        return None
    if not isinstance(error, Refused):
        return RefusedView([str(error)], [], [])
    plain = [refusal for refusal in error.refusals if not refusal.step]
    ways = [_WAYS[refusal.code] for refusal in plain if refusal.code in _WAYS]
    return RefusedView([one.sentence for one in plain], error.unmet, list(dict.fromkeys(ways)))
