"""What pages call the states of a job, in the language they are read in.

What is stored, sent and compared are the plain words.
"""

from __future__ import annotations

from django.utils.translation import gettext, pgettext_lazy

from shop.jobs.stages import Cover, Power, Stage
from shop.lib.pack_words import pack_title
from shop.lib.text import spaced

STAGES = {
    Stage.RECEIVED: pgettext_lazy("stage of a job", "received"),
    Stage.REPRODUCING: pgettext_lazy("stage of a job", "reproducing"),
    Stage.OPENED: pgettext_lazy("stage of a job", "opened"),
    Stage.AWAITING_PARTS: pgettext_lazy("stage of a job", "awaiting parts"),
    Stage.REASSEMBLED: pgettext_lazy("stage of a job", "reassembled"),
    Stage.SOAKING: pgettext_lazy("stage of a job", "soaking"),
    Stage.RELEASED: pgettext_lazy("stage of a job", "released"),
    Stage.WITHDRAWN: pgettext_lazy("stage of a job", "withdrawn"),
}
POWER = {
    Power.ISOLATED: pgettext_lazy("mains of a unit", "isolated"),
    Power.LIMITED: pgettext_lazy("mains of a unit", "limited"),
    Power.FULL: pgettext_lazy("mains of a unit", "full"),
}
COVER = {
    Cover.ON: pgettext_lazy("cover of a unit", "on"),
    Cover.OFF: pgettext_lazy("cover of a unit", "off"),
}

SOAK = {
    "none": pgettext_lazy("soak of a job", "none"),
    "running": pgettext_lazy("soak of a job", "running"),
    "interrupted": pgettext_lazy("soak of a job", "interrupted"),
    "passed": pgettext_lazy("soak of a job", "passed"),
    "failed": pgettext_lazy("soak of a job", "failed"),
}
ESTIMATES = {
    "none": pgettext_lazy("estimate", "none"),
    "sent": pgettext_lazy("estimate", "sent"),
    "yes": pgettext_lazy("estimate", "yes"),
    "no": pgettext_lazy("estimate", "no"),
    "question": pgettext_lazy("estimate", "question"),
}
RESULTS = {
    "pass": pgettext_lazy("result of a step", "pass"),
    "fail": pgettext_lazy("result of a step", "fail"),
    "not-applicable": pgettext_lazy("result of a step", "not-applicable"),
    "waived": pgettext_lazy("result of a step", "waived"),
}


def stage_name(stage: str) -> str:
    """Return 'awaiting parts' for 'awaiting_parts'."""
    return str(STAGES[Stage(stage)]) if stage in STAGES else spaced(stage)


def power_name(power: str) -> str:
    """Return 'limited', as the page says it."""
    return str(POWER[Power(power)]) if power in POWER else str(power)


def cover_name(cover: str) -> str:
    """Return 'off', as the page says it."""
    return str(COVER[Cover(cover)]) if cover in COVER else str(cover)


def soak_name(state: str) -> str:
    """Return how the soak stands, as the page says it."""
    return str(SOAK.get(state, state))


def estimate_name(state: str) -> str:
    """Return how the estimate stands, as the page says it."""
    return str(ESTIMATES.get(state, state))


def result_name(result: str) -> str:
    """Return the result of a sign-off, as the page says it."""
    return str(RESULTS.get(result, result))


def translated(words: object) -> str:
    """Return words of the code, as titles and reasons of acts are, in the language of the page.

    They are kept and sent in English. What nobody has translated stays as it is.
    """
    said = gettext(str(words)) if words else ""
    # The title of an act is often that of a step, or a word of the vocabulary.
    return pack_title(said) if said == words else said
