"""A tone in a recording: level, distortion, signal to noise, and what they hint at.

Ratios follow IEC 60268-3 and AES17.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from checklists.engine.figures import grouped
from shop.bench.audio.spectrum import NO_TONE, Spectrum, decibels_of, middle_of, take_apart
from shop.bench.audio.wander import follow, straightened
from shop.bench.audio.wav import SILENT, Samples, read_wav
from shop.bench.inputs import within

LIVELIEST = 0.25  # a tone keeps its level; noise in a narrow band changes it by half of itself


@dataclass(frozen=True, slots=True, kw_only=True)
class Tone:
    """What a tone measures. Ratios in percent and dB, levels to full scale and in V where known.

    `wander_percent`: wow and flutter, unweighted; None for a steady tone.
    """

    hertz: float
    level_decibels: float
    level_volts: float | None
    thd_f_percent: float
    thd_r_percent: float
    thd_n_percent: float
    bandwidth_hertz: float
    snr_decibels: float
    snr_a_decibels: float
    second_percent: float
    third_percent: float
    offset_percent: float
    wander_percent: float | None
    hints: tuple[str, ...]


def tone(
    path: str,
    channel: int = 1,
    bandwidth_hertz: float = 20_000.0,
    full_scale_volts: float | None = None,
) -> Tone:
    """Return level, THD, THD+N and S/N of a tone in a WAV recording.

    path of a WAV file, channel from 1, bandwidth_hertz 100..500,000 Hz, full_scale_volts: the
    r.m.s. volts of a full-scale sine at the terminals. ValueError with a sentence.
    Formula: THD_F = rms of harmonics / fundamental; THD_R by the total; THD+N = residue / total.
    Caution: NOTICE. THD+N holds for its bandwidth; a class D output needs a 20 kHz low-pass ahead.
    Source: IEC 60268-3 and AES17 definitions; closed forms W7.1, W7.2, W7.5.
    """
    recording = read_wav(path)
    return tone_of(
        recording.channel(channel),
        recording.rate,
        bandwidth_hertz=bandwidth_hertz,
        full_scale_volts=full_scale_volts,
    )


def tone_of(
    samples: Samples,
    rate: int,
    *,
    bandwidth_hertz: float = 20_000.0,
    full_scale_volts: float | None = None,
) -> Tone:
    """Return what `tone` does for samples at full scale 1.0; ValueError with a sentence."""
    asked = within("bandwidth_hertz", bandwidth_hertz, 100, 500_000, "Hz")
    band = min(asked, rate / 2)
    require_usable(samples)
    middle, wander = _even(middle_of(samples, rate), rate)
    spectrum = take_apart(middle, rate, band)
    first = spectrum.amplitude
    _require_tone(spectrum)
    thd_f = math.sqrt(sum(h**2 for h in spectrum.harmonics)) / first
    second, third, *_ = [*spectrum.harmonics, 0.0, 0.0]
    return Tone(
        hertz=spectrum.hertz,
        level_decibels=decibels_of(first),
        level_volts=_volts(first, full_scale_volts),
        thd_f_percent=thd_f * 100,
        thd_r_percent=thd_f / math.sqrt(1 + thd_f**2) * 100,
        thd_n_percent=spectrum.residue / spectrum.total * 100,
        bandwidth_hertz=band,
        snr_decibels=_above(first, spectrum.noise),
        snr_a_decibels=_above(first, spectrum.weighted_noise),
        second_percent=second / first * 100,
        third_percent=third / first * 100,
        offset_percent=spectrum.offset * 100,
        wander_percent=wander,
        hints=(*_wandering(wander), *_hints(samples, spectrum, asked, rate)),
    )


def _even(samples: Samples, rate: int) -> tuple[Samples, float | None]:
    """Return samples at an even speed, and by how much it wandered, in percent; None: not at all.

    ValueError with a sentence when what is there is no tone: noise, a sweep, music.
    """
    wander = follow(samples, rate)
    if wander.steady:
        return samples, None
    if wander.lively > LIVELIEST:
        raise ValueError(NO_TONE)
    return straightened(samples, rate, wander), wander.percent


def _require_tone(spectrum: Spectrum) -> None:
    if spectrum.amplitude / math.sqrt(2) < spectrum.noise:
        raise ValueError(NO_TONE)


def _wandering(percent: float | None) -> list[str]:
    if percent is None:
        return []
    return [
        f"The speed wanders by {percent:.2g} % (root mean square, unweighted); that was taken out"
        " before harmonics and noise were read."
    ]


def _volts(share: float, full_scale_volts: float | None) -> float | None:
    if full_scale_volts is None:
        return None
    return share * within("full_scale_volts", full_scale_volts, 1e-6, 1e5, "V")


def _above(amplitude: float, noise: float) -> float:
    """Return how many dB a tone of this amplitude stands above noise of this r.m.s."""
    return decibels_of(amplitude / math.sqrt(2) / max(noise, 1e-15))


def require_usable(samples: Samples) -> None:
    """ValueError with a sentence when a channel is silent, or clipped by the recorder."""
    # Largest and smallest instead of absolute values: five minutes are not copied for a look.
    mean = samples.mean()
    if max(samples.max() - mean, mean - samples.min()) < SILENT:
        raise ValueError(
            "The recording is silent on this channel: nothing above -100 dB of full scale."
        )
    if _clipped(samples):
        raise ValueError(
            "The recording itself is clipped: it sits at full scale. Turn the input down and record again."
        )


def _clipped(samples: Samples) -> bool:
    """Whether the recorder ran out of numbers; floating point goes on above 1.0 and does not."""
    most = max(float(samples.max()), -float(samples.min()))
    level = 0.9999 if most <= 1.0001 else most * (1 - 1e-9)
    stuck = (samples >= level) | (samples <= -level)
    return bool(np.count_nonzero(stuck) > 0.001 * len(samples) and _longest_run(stuck) >= 3)


def _longest_run(flags: np.ndarray) -> int:
    """Return the longest run of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(np.int8)))
    return int(np.max(edges[1::2] - edges[::2])) if len(edges) else 0


def _hints(samples: Samples, spectrum: Spectrum, asked: float, rate: int) -> list[str]:
    hints = []
    if asked > rate / 2:
        hints.append(
            f"The rate of {grouped(rate)} Hz ends at {grouped(rate // 2)} Hz: the bandwidth was cut to that."
        )
    if abs(spectrum.offset) > 0.01:
        hints.append(
            f"A direct voltage of {spectrum.offset * 100:.1f} % of full scale is in it; taken off."
        )
    hints += [*_flat_tops(samples), *_coarse_steps(samples)]
    odd, even = spectrum.harmonics[1:8:2], spectrum.harmonics[0:8:2]
    total = math.sqrt(sum(h**2 for h in spectrum.harmonics)) / spectrum.amplitude
    if total > 0.01 and odd and even and sum(odd) > 5 * sum(even):
        hints.append(
            "Odd harmonics lead: both halves are limited alike, as by clipping or crossover."
        )
    if total > 0.01 and even and sum(even) > 5 * sum(odd):
        hints.append("Even harmonics lead: one half differs, as by a bias or supply of one side.")
    return hints


def _flat_tops(samples: Samples) -> list[str]:
    """Say whether the wave stands still at its peaks for longer than a sine does, and on which side."""
    middle = float(samples.mean())
    above, below = samples.max() - middle, middle - samples.min()
    # A sine spends 2 % of its time at each; a wave clipped at 95 % a tenth.
    flat = [
        np.mean(samples - middle > 0.998 * above) > 0.06,
        np.mean(middle - samples > 0.998 * below) > 0.06,
    ]
    if all(flat):
        return [
            "Flat tops: the wave is clipped before the recorder. Lower the level and measure again."
        ]
    if any(flat):
        side = "upper" if flat[0] else "lower"
        return [
            f"The {side} half alone has flat tops: it is clipped on one side before the recorder, as"
            " by a bias or a supply of one side."
        ]
    return []


def _coarse_steps(samples: Samples) -> list[str]:
    """Say when the recording has so few steps that its own noise is what is measured."""
    part = samples[: 2**17]
    bits = next((n for n in range(2, 13) if not np.any(part * 2.0 ** (n - 1) % 1)), None)
    if bits is None:
        return []
    return [
        f"The recording has {bits} bits: its own noise is about {6 * bits + 2} dB below full scale,"
        " and nothing softer is measured."
    ]
