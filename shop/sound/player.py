"""Playing and recording at once by the sound card of this machine, through PortAudio."""

from __future__ import annotations

import importlib
import io
from typing import Any

import numpy as np
import soundfile

from shop.bench.audio.wav import Samples
from shop.lib.refusals import UserFacingError

# Until the last of it has come back through the card.
_AFTER_SECONDS = 0.6


class NoSound(UserFacingError):
    """The sound card cannot be used; a sentence says why, and what to do."""


def _library() -> Any:
    try:
        return importlib.import_module("sounddevice")
    except ModuleNotFoundError:
        raise NoSound(
            "To play and record, install the extra: pip install 'benchtag[sound]'."
        ) from None
    except OSError:
        raise NoSound(
            "PortAudio is not on this machine. Install it: libportaudio2 on Debian and Ubuntu,"
            " portaudio elsewhere."
        ) from None


def devices() -> list[str]:
    """Return a line for each device: number, name, channels in and out, usual rate; NoSound."""
    return [
        f"{place:3} {one['name']}: {one['max_input_channels']} in,"
        f" {one['max_output_channels']} out, {one['default_samplerate']:.0f} Hz"
        for place, one in enumerate(_library().query_devices())
    ]


def play_and_record(
    samples: Samples,
    rate: int,
    *,
    channels: int = 2,
    in_device: int | None = None,
    out_device: int | None = None,
) -> bytes:
    """Play samples by (time, channel) and return what came in meanwhile, as a WAV file.

    Blocks until it has sounded. NoSound when there is no such device, it cannot do that rate, or
    samples were lost on the way.
    """
    library = _library()
    rest = np.zeros((round(_AFTER_SECONDS * rate), samples.shape[1]))
    try:
        heard = library.playrec(
            np.concatenate([samples, rest]).astype(np.float32),
            samplerate=rate,
            channels=channels,
            device=(in_device, out_device),
        )
        flags = library.wait()
    except (library.PortAudioError, ValueError) as error:
        raise NoSound(f"The sound card cannot do that: {error}.") from None
    if flags:
        raise NoSound(
            f"Samples were lost on the way ({flags}). Close other programs, record again."
        )
    made = io.BytesIO()
    soundfile.write(made, heard, rate, format="WAV", subtype="FLOAT")
    return made.getvalue()
