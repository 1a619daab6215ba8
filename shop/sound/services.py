"""Writing inputs of sound cards, and calibrating them."""

from __future__ import annotations

from datetime import datetime
from typing import BinaryIO

from django.contrib.auth.models import User
from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from shop.accounts import roles
from shop.bench.audio.response import full_scale
from shop.bench.audio.tone import tone_of
from shop.bench.audio.wav import read_wav
from shop.lib import text
from shop.lib.refusals import bad
from shop.sound.models import LONGEST_NAME, LONGEST_SETTING, SoundInput

ABILITY = "record"
LEAST_VOLTS, MOST_VOLTS = 1e-6, 1e5


def full_scale_of(recording: BinaryIO, channel: int, tone_volts: float) -> float:
    """Return the volts of full scale from a recorded tone that a meter read; BadInput when it is none."""
    try:
        sound = read_wav(recording)
        level = tone_of(sound.channel(channel), sound.rate).level_decibels
        return full_scale(tone_volts, min(0.0, level)).full_scale_volts
    except ValueError as error:
        raise bad("recording", str(error)) from None


def save(
    kept: SoundInput | None,
    *,
    name: object,
    setting: object = "",
    full_scale_volts: float,
    tone_volts: float | None = None,
    by: User,
    at: datetime,
) -> SoundInput:
    """Write an input down, or calibrate it again; BadInput with a sentence, also for a name in use."""
    roles.require(by, ABILITY)
    if not LEAST_VOLTS <= full_scale_volts <= MOST_VOLTS:
        raise bad(
            "full_scale_volts",
            _(
                "full_scale_volts is {full_scale_volts:g} V; it must be from {least_volts:g} to "
                "{most_volts:g} V."
            ).format(
                full_scale_volts=full_scale_volts, least_volts=LEAST_VOLTS, most_volts=MOST_VOLTS
            ),
        )
    one = kept or SoundInput()
    one.name = text.take("name", name, LONGEST_NAME, needed=True)
    one.setting = text.take("setting", setting, LONGEST_SETTING)
    one.full_scale_volts, one.tone_volts = full_scale_volts, tone_volts
    one.calibrated_at, one.calibrated_by = at, by
    try:
        with transaction.atomic():
            one.save()
    except IntegrityError:
        raise bad(
            "name", _("name is {name}; another input has it.").format(name=one.name)
        ) from None
    return one


def set_retired(one: SoundInput, at: datetime | None, *, by: User) -> None:
    """Retire an input, or take it back into use (None); nothing that it measured changes."""
    roles.require(by, ABILITY)
    one.retired_at = at
    one.save(update_fields=["retired_at"])
