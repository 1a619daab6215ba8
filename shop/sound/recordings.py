"""A recording of a job: measured, and written into its ledger. The page and the shell share it.

`given` has what was said of the recording, by the names of the fields of `RecordingForm`.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from datetime import datetime
from typing import Any, BinaryIO

from django.contrib.auth.models import User
from django.db import transaction

from checklists.engine.figures import grouped
from shop.bench.audio.wav import read_wav
from shop.bench.units import unit_of
from shop.jobs import commands
from shop.lib.refusals import bad
from shop.sound.measures import KEPT, MEASURES, curve_of

Figures = dict[str, Any]
_LONGEST_FILE = 80
_PIECE = 2**20


def measured(recording: BinaryIO, given: dict[str, Any]) -> Figures:
    """Return what the recording holds; BadInput when it cannot be read or measured."""
    try:
        return MEASURES[given["what"]](read_wav(recording), given)
    except ValueError as error:
        raise bad("recording", str(error)) from None


def source_of(recording: BinaryIO, name: str, given: Mapping[str, Any]) -> str:
    """Return where figures are from: the calibrated input, the file and its digest, the channel."""
    digest = _digest(recording)
    chosen = given.get("sound_input")
    parts = [chosen.as_source] if chosen else []
    parts.append(f"recording {name[:_LONGEST_FILE]}, sha256 {digest[:12]}")
    return ", ".join([*parts, f"channel {given['channel']}"])


def _digest(recording: BinaryIO) -> str:
    recording.seek(0)
    digest = hashlib.sha256()
    for piece in iter(lambda: recording.read(_PIECE), b""):
        digest.update(piece)
    return digest.hexdigest()


def write(
    number: int,
    given: Mapping[str, Any],
    figures: Figures,
    source: str,
    *,
    by: User,
    at: datetime,
) -> None:
    """Write each kept figure as a reading of its own, and the curve; all or none."""
    about = {"source": source, "note": _note(given, figures)}
    with transaction.atomic():
        for name in KEPT[given["what"]]:
            if figures.get(name) is not None:
                value = round(float(figures[name]), 6)
                reading = {"quantity": name, "value": value, "unit": unit_of(name)}
                commands.record(number, "reading_taken", reading | about, by=by, at=at)
        curve = curve_of(given, figures)
        if curve is not None:
            row = curve | {"source": source, "note": given["note"]}
            commands.record(number, "curve_measured", row, by=by, at=at)


def _ended(words: str) -> str:
    return words if not words or words[-1] in ".!?" else f"{words}."


def _note(given: Mapping[str, Any], figures: Figures) -> str:
    sentences = [_ended(given["note"]), given.get("played", ""), *figures.get("hints", ())]
    if given["what"] in ("tone", "noise", "steps"):
        bandwidth = figures.get("bandwidth_hertz", given["bandwidth_hertz"])
        sentences.append(f"Bandwidth {grouped(round(bandwidth))} Hz.")
    return " ".join(sentence for sentence in sentences if sentence)
