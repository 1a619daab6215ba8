"""Frequency response from a sweep, a multitone, or against a reference channel."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import scipy
from numpy.typing import NDArray

from checklists.engine.figures import grouped
from shop.bench.audio.spectrum import middle_of, tones_of
from shop.bench.audio.wav import MOST_FRAMES, SILENT, Recording, Samples, read_wav
from shop.bench.inputs import whole, within

# Third-octave centres, exact base ten (IEC 61260-1): 10^(n/10), 20 Hz to 20 kHz.
CENTRES = tuple(10 ** (n / 10) for n in range(13, 44))
_MOMENTS = 256
LONG_LOOK_HERTZ = 200.0
# A third octave whose middle is farther off than this, as a natural logarithm, was filled in part.
_FILLED = 0.04


@dataclass(frozen=True, slots=True, kw_only=True)
class Response:
    """Level against frequency, to the level nearest 1 kHz, and where it has fallen by 3 dB.

    With a reference: `coherence`, how much of what came out is of what went in, one for each
    frequency, and the delay between the two, taken out.
    """

    method: str
    hertz: tuple[float, ...]
    decibels: tuple[float, ...]
    lowest_hertz: float | None
    highest_hertz: float | None
    ripple_decibels: float
    coherence: tuple[float, ...] = ()
    delay_milliseconds: float | None = None
    hints: tuple[str, ...] = ()


def response(path: str, channel: int = 1, reference_channel: int = 0) -> Response:
    """Return the frequency response from a recorded sweep, multitone or noise.

    path of a WAV file; channel from 1; reference_channel: the channel that holds what went in
    (0: none, the excitation is taken to be level). With a reference any signal serves.
    ValueError with a sentence.
    Formula: cross-spectrum over the reference (H1), tone levels of a multitone, or the track of a sweep.
    Caution: NOTICE. Without a reference channel it shows the recorder and the generator as well.
    Source: third-octave centres of IEC 61260-1; closed form of a first-order low-pass in the tests.
    """
    recording = read_wav(path)
    return response_of(recording, channel, reference_channel)


def response_of(recording: Recording, channel: int = 1, reference_channel: int = 0) -> Response:
    """Return what `response` does for a recording; ValueError with a sentence."""
    samples = recording.channel(channel)
    whole("reference_channel", reference_channel, 0, 8)
    if float(np.std(samples)) < SILENT:
        raise ValueError("The recording is silent on this channel.")
    if reference_channel:
        if reference_channel == channel:
            raise ValueError("reference_channel must be another channel than channel.")
        _require_whole(recording)
        return _against(recording.channel(reference_channel), samples, recording.rate)
    middle = middle_of(samples, recording.rate)
    tones, levels = tones_of(middle, recording.rate)
    if 5 <= len(tones) <= 400 and _steady(samples, recording.rate):
        return _result("multitone", tones, levels)
    _require_whole(recording)
    return _result("sweep", *_track(samples, recording.rate))


def _require_whole(recording: Recording) -> None:
    """A sweep is read from its first tone to its last."""
    if not recording.whole:
        seconds = MOST_FRAMES // recording.rate
        raise ValueError(
            f"The recording is longer than {seconds} s, the most that is followed at"
            f" {grouped(recording.rate)} Hz; cut it, or record at a lower rate."
        )


def _steady(samples: Samples, rate: int) -> bool:
    """Whether the first and last quarter sound alike, as a multitone does and a sweep does not."""
    quarter = len(samples) // 4
    parts = (samples[quarter : 2 * quarter], samples[2 * quarter : 3 * quarter])
    first, last = (scipy.signal.welch(part, rate, nperseg=min(4096, quarter))[1] for part in parts)
    shared = float(np.sum(np.sqrt(first * last)))
    return shared > 0.9 * math.sqrt(float(first.sum() * last.sum()))


def _against(reference: Samples, samples: Samples, rate: int) -> Response:
    """Return the response by the cross-spectrum, after the delay between the two is taken out."""
    if float(np.std(reference)) < SILENT:
        raise ValueError("The reference channel is silent.")
    delay = _delay(reference, samples)
    reference, samples = _aligned(reference, samples, delay)
    long = min(len(samples), 2 ** int(math.log2(rate * 0.4)))
    places, cross = scipy.signal.csd(reference, samples, rate, nperseg=long)
    _, power = scipy.signal.welch(reference, rate, nperseg=long)
    _, out = scipy.signal.welch(samples, rate, nperseg=long)
    heard = power > power.max() * 1e-9
    ratio = (np.abs(cross) / np.maximum(power, 1e-30))[heard]
    alike = (np.abs(cross) ** 2 / np.maximum(power * out, 1e-60))[heard]
    # What the signal hardly holds, as above the end of a sweep, counts that much less.
    centres, levels = _in_bands(places[heard], ratio, power[heard])
    _, shared = _in_bands(places[heard], np.sqrt(alike), power[heard])
    return _result("reference", centres, levels, np.clip(shared**2, 0, 1), 1000 * delay / rate)


def _delay(reference: Samples, samples: Samples) -> int:
    """Return by how many samples the second comes later: where the two are most alike."""
    size = scipy.fft.next_fast_len(2 * len(reference), real=True)
    lines = np.fft.rfft(samples - samples.mean(), size)
    lines *= np.conj(np.fft.rfft(reference - reference.mean(), size))
    alike = np.abs(np.fft.irfft(lines, size))
    place = int(np.argmax(alike))
    return place if place < size // 2 else place - size


def _aligned(reference: Samples, samples: Samples, delay: int) -> tuple[Samples, Samples]:
    if delay >= 0:
        return reference[: len(reference) - delay], samples[delay:]
    return reference[-delay:], samples[: len(samples) + delay]


def _track(samples: Samples, rate: int) -> tuple[Samples, Samples]:
    """Follow a sweep: the strongest frequency of each moment, with its level."""
    fast = _followed(samples, rate, 0.085)
    if len(samples) < 2 * rate:
        return fast
    # A longer look tells apart what lies below: 20 Hz has two cycles in the short one.
    slow = _followed(samples, rate, 0.7)
    deep, rest = slow[0] < LONG_LOOK_HERTZ, fast[0] >= LONG_LOOK_HERTZ
    return (
        np.concatenate([slow[0][deep], fast[0][rest]]),
        np.concatenate([slow[1][deep], fast[1][rest]]),
    )


def _followed(samples: Samples, rate: int, seconds: float) -> tuple[Samples, Samples]:
    length = 2 ** int(math.log2(rate * seconds))
    transform = scipy.signal.ShortTimeFFT(
        scipy.signal.windows.hann(length, sym=False), hop=length // 4, fs=rate, scale_to="magnitude"
    )
    moments = [_moments(levels) for levels in _spectrogram(transform, samples)]
    strongest, level, energy, total = (
        np.concatenate(parts) for parts in zip(*moments, strict=True)
    )
    places = transform.f[strongest]
    # Where a sweep starts and ends a moment is filled in part, and reads low.
    sounds = np.flatnonzero(total > total.max() * 1e-3)
    whole_moments = np.zeros(len(level), dtype=bool)
    whole_moments[sounds[0] + 4 : sounds[-1] - 3] = True
    kept = whole_moments & (level > level.max() * 1e-4) & (places > 3 * rate / length)
    _require_sweep(strongest[kept], energy[kept], total[kept])
    return _in_bands(places[kept], energy[kept])


def _require_sweep(strongest: NDArray[np.intp], energy: Samples, total: Samples) -> None:
    """ValueError unless one frequency at a time was heard, and many of them."""
    if len(strongest) == 0 or len(np.unique(strongest)) < 10:
        raise ValueError("No sweep or multitone was found; record a sweep over the band.")
    if np.median(energy / np.maximum(total, 1e-30)) < 0.7:
        raise ValueError(
            "This is no sweep: many frequencies sound at once. For noise or music record what went"
            " in on the other channel, and name it as the reference."
        )


def _spectrogram(transform: scipy.signal.ShortTimeFFT, samples: Samples) -> Iterator[Samples]:
    """Yield levels by (frequency, moment), so many moments at once: all of them are ten recordings."""
    first, last = transform.p_min, transform.p_max(len(samples))
    for start in range(first, last, _MOMENTS):
        yield np.abs(transform.stft(samples, start, min(start + _MOMENTS, last)))


def _moments(levels: Samples) -> tuple[NDArray[np.intp], Samples, Samples, Samples]:
    """Return of each moment the place of the strongest level, that level, the energy about it, and all."""
    strongest = levels.argmax(axis=0)
    energy = np.array([_about(levels[:, t], peak) for t, peak in enumerate(strongest)])
    return strongest, levels.max(axis=0), energy, np.sqrt(np.sum(levels**2, axis=0))


def _about(column: Samples, peak: int) -> float:
    # A tone that moves spreads: at the top of a fast sweep over hundreds of places.
    wide = max(8, peak // 3)
    near = column[max(0, peak - wide) : peak + wide + 1]
    return float(np.sqrt(np.sum(near**2)))


def _in_bands(
    places: Samples, levels: Samples, weights: Samples | None = None
) -> tuple[Samples, Samples]:
    """Return the r.m.s. level in each third octave that was reached, and where that is."""
    counts = np.ones_like(places) if weights is None else weights
    bands = []
    for centre in CENTRES:
        inside = (places >= centre * 10**-0.05) & (places < centre * 10**0.05)
        if np.any(inside):
            share = counts[inside] / counts[inside].sum()
            level = math.sqrt(float(np.sum(share * levels[inside] ** 2)))
            bands.append((_place(centre, places[inside], share), level))
    return np.array([c for c, _ in bands]), np.array([level for _, level in bands])


def _place(centre: float, places: Samples, share: Samples) -> float:
    """Return the centre of a band, or of the part that a sweep which ends in the band has filled."""
    middle = math.exp(float(np.sum(share * np.log(places))))
    return centre if abs(math.log(middle / centre)) < _FILLED else middle


def _result(
    method: str,
    places: Samples,
    levels: Samples,
    coherence: Samples | None = None,
    delay_milliseconds: float | None = None,
) -> Response:
    if len(places) < 3:
        raise ValueError(
            "Too few frequencies were found; record a sweep or multitone over the band."
        )
    reference = levels[int(np.argmin(np.abs(np.log(places / 1000))))]
    decibels = 20 * np.log10(np.maximum(levels / reference, 1e-9))
    low, high = _fallen(places, decibels), _fallen(places[::-1], decibels[::-1])
    middle = decibels[(places >= (low or 0)) & (places <= (high or 1e9))]
    shared = () if coherence is None else tuple(float(one) for one in coherence)
    return Response(
        method=method,
        hertz=tuple(float(place) for place in places),
        decibels=tuple(float(level) for level in decibels),
        lowest_hertz=low,
        highest_hertz=high,
        ripple_decibels=float(middle.max() - middle.min()),
        coherence=shared,
        delay_milliseconds=delay_milliseconds,
        hints=tuple(_hints(method, places, shared)),
    )


def _fallen(places: Samples, decibels: Samples) -> float | None:
    """Return where the level comes up to -3 dB from this end, between two frequencies; None: it is."""
    up = np.flatnonzero(decibels >= -3.0)
    if decibels[0] >= -3.0 or not len(up):
        return None
    after = int(up[0])
    share = (-3.0 - decibels[after - 1]) / (decibels[after] - decibels[after - 1])
    steps = np.log(places[after - 1 : after + 1])
    return float(np.exp(steps[0] + share * (steps[1] - steps[0])))


def _hints(method: str, places: Samples, coherence: tuple[float, ...]) -> list[str]:
    hints = []
    if method == "sweep":
        hints.append("The sweep is taken to be level; what its generator does shows as well.")
    poor = [place for place, one in zip(places, coherence, strict=False) if one < 0.9]
    if poor:
        hints.append(
            f"At {len(poor)} frequencies, from {poor[0]:.0f} Hz, less than nine tenths of what came"
            " out is of what went in: noise, distortion or a drifting delay. Do not rely on them."
        )
    return hints


@dataclass(frozen=True, slots=True)
class FullScale:
    """The voltage at the terminals that a recorder's full scale stands for."""

    full_scale_volts: float


def full_scale(tone_volts: float, level_decibels: float) -> FullScale:
    """Return the r.m.s. volts of a full-scale sine from a tone of known voltage in a recording.

    tone_volts 1e-6..1000 V as a meter read it at the terminals, level_decibels -120..0 dB of full
    scale as the recording measured it.
    Formula: Vfs = V / 10^(L/20).
    Caution: NOTICE. It holds until somebody touches the recorder's level.
    Source: definition of the decibel.
    """
    volts = within("tone_volts", tone_volts, 1e-6, 1000, "V")
    level = within("level_decibels", level_decibels, -120, 0, "dB")
    return FullScale(volts / 10 ** (level / 20))
