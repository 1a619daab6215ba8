"""What a recording of a job can be measured for, and which of the figures are kept."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict
from typing import Any

from django.utils.translation import gettext_lazy as _

from shop.bench.audio import (
    equalisation,
    flutter,
    intermodulation,
    noise,
    response,
    separation,
    stepped,
    tape,
    tone,
)
from shop.bench.audio.wav import Recording

WHAT = {
    "tone": _("a tone: level, distortion, signal to noise"),
    "steps": _("a tone in rising steps: where it clips"),
    "noise": _("silence: noise and hum"),
    "separation": _("a tone on one of two channels: separation"),
    "response": _("a sweep or multitone: frequency response"),
    "flutter": _("a test tone from tape or record: speed, wow, flutter"),
    "intermodulation": _("two tones at once: intermodulation"),
    "azimuth": _("a high tone on both tracks of a tape: azimuth"),
}
# What a test signal may be measured for, the usual first.
HOLDS: dict[str, tuple[str, ...]] = {
    "sine": ("tone", "separation"),
    "steps": ("steps",),
    "sweep": ("response",),
    "multitone": ("response",),
    "two-tones": ("intermodulation",),
    "wow": ("flutter",),
    "silence": ("noise",),
    "long-silence": ("flutter", *(what for what in WHAT if what != "flutter")),
}
# What becomes a reading; the rest is shown and goes with the note.
KEPT = {
    "tone": (
        "level_volts", "level_decibels", "thd_f_percent", "thd_r_percent", "thd_n_percent",
        "snr_decibels", "snr_a_decibels",
    ),
    "steps": ("clipping_volts", "clipping_watts", "clipping_decibels", "lowest_thd_n_percent"),
    "noise": ("noise_volts", "noise_decibels", "noise_a_decibels", "noise_468_decibels", "fundamental_decibels", "ripple_decibels"),
    "separation": ("separation_decibels",),
    "response": (
        "lowest_hertz", "highest_hertz", "ripple_decibels", "curve_worst_decibels", "curve_worst_hertz",
    ),
    "azimuth": ("phase_degrees", "tilt_arc_minutes", "level_difference_decibels"),
    "flutter": ("speed_error_percent", "weighted_flutter_percent", "unweighted_flutter_percent"),
    "intermodulation": ("order_2_percent", "order_3_percent", "intermodulation_percent"),
}  # fmt: skip


def _tone(sound: Recording, given: dict[str, Any]) -> dict[str, Any]:
    samples, band = sound.channel(given["channel"]), given["bandwidth_hertz"]
    measured = tone.tone_of(
        samples, sound.rate, bandwidth_hertz=band, full_scale_volts=given["full_scale_volts"]
    )
    if given["tone_volts"] and not given["full_scale_volts"]:
        scale = response.full_scale(given["tone_volts"], min(0.0, measured.level_decibels))
        measured = tone.tone_of(
            samples, sound.rate, bandwidth_hertz=band, full_scale_volts=scale.full_scale_volts
        )
        return asdict(measured) | {"full_scale_volts": scale.full_scale_volts}
    return asdict(measured)


def _steps(sound: Recording, given: dict[str, Any]) -> dict[str, Any]:
    measured = stepped.stepped_of(
        sound.channel(given["channel"]),
        sound.rate,
        bandwidth_hertz=given["bandwidth_hertz"],
        full_scale_volts=given["full_scale_volts"],
        load_ohms=given["load_ohms"],
    )
    return asdict(measured)


def _noise(sound: Recording, given: dict[str, Any]) -> dict[str, Any]:
    samples = sound.channel(given["channel"])
    mains = float(given["mains_hertz"])
    measured = noise.noise_of(
        samples,
        sound.rate,
        bandwidth_hertz=given["bandwidth_hertz"],
        full_scale_volts=given["full_scale_volts"],
        mains_hertz=mains,
    )
    return asdict(measured)


def _separation(sound: Recording, given: dict[str, Any]) -> dict[str, Any]:
    return asdict(separation.separation_of(sound))


def _response(sound: Recording, given: dict[str, Any]) -> dict[str, Any]:
    channels = (given["channel"], given["reference_channel"])
    found = asdict(response.response_of(sound, *channels))
    if not given["curve"]:
        return found
    off = equalisation.deviation_of(sound, given["curve"], *channels)
    return found | {
        "curve_worst_decibels": off.worst_decibels,
        "curve_worst_hertz": off.worst_hertz,
        "hints": (*found["hints"], f"Against {given['curve']}: {off.says}"),
    }


def _flutter(sound: Recording, given: dict[str, Any]) -> dict[str, Any]:
    samples, wanted = sound.channel(given["channel"]), given["test_hertz"] or 3150.0
    return asdict(flutter.flutter_of(samples, sound.rate, test_hertz=wanted))


def _intermodulation(sound: Recording, given: dict[str, Any]) -> dict[str, Any]:
    measured = intermodulation.intermodulation_of(
        sound.channel(given["channel"]), sound.rate, bandwidth_hertz=given["bandwidth_hertz"]
    )
    return asdict(measured)


def _azimuth(sound: Recording, given: dict[str, Any]) -> dict[str, Any]:
    return asdict(tape.azimuth_of(sound))


MEASURES: dict[str, Callable[[Recording, dict[str, Any]], dict[str, Any]]] = {
    "tone": _tone,
    "steps": _steps,
    "noise": _noise,
    "separation": _separation,
    "response": _response,
    "flutter": _flutter,
    "intermodulation": _intermodulation,
    "azimuth": _azimuth,
}


def curve_of(given: Mapping[str, Any], figures: Mapping[str, Any]) -> dict[str, Any] | None:
    """Return the curve that a measurement gives, as a row of the ledger has it; None for a figure alone."""
    if given["what"] == "response":
        x, y = figures["hertz"], figures["decibels"]
        drawn = {"curve": "response", "x_unit": "Hz", "y_unit": "dB"}
    elif given["what"] == "steps":
        x, y = (
            _levels(figures["level_decibels"], given["full_scale_volts"]),
            figures["thd_n_percent"],
        )
        drawn = {
            "curve": "distortion",
            "x_unit": "V" if given["full_scale_volts"] else "dB",
            "y_unit": "%",
        }
    else:
        return None
    rounded = {"x": [float(f"{one:.5g}") for one in x], "y": [round(float(one), 5) for one in y]}
    return drawn | rounded | {"channel": given["channel"]}


def _levels(decibels: Sequence[float], full_scale_volts: float | None) -> Sequence[float]:
    """Return levels in volts where full scale is known."""
    if full_scale_volts is None:
        return decibels
    return [full_scale_volts * 10 ** (level / 20) for level in decibels]
