"""Separation between channels, and frequency response from a sweep or a multitone."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import ShortTimeFFT, csd, welch
from scipy.signal.windows import hann

from checklists.engine.figures import grouped
from shop.bench.audio.spectrum import amplitude_at, middle_of, peaks_of, take_apart
from shop.bench.audio.wav import MOST_FRAMES, SILENT, Recording, Samples, read_wav
from shop.bench.inputs import whole, within

# Third-octave centres, exact base ten (IEC 61260-1): 10^(n/10), 20 Hz to 20 kHz.
CENTRES = tuple(10 ** (n / 10) for n in range(13, 44))
_MOMENTS = 256


@dataclass(frozen=True, slots=True)
class Separation:
    """How much of a driven channel reaches the other."""

    driven_channel: int
    hertz: float
    separation_decibels: float


def separation(path: str) -> Separation:
    """Return the separation of a two-channel recording in which one channel is driven by a tone.

    path of a WAV file with two channels. ValueError with a sentence.
    Formula: 20 log10(driven / other), both at the tone's frequency.
    Caution: NOTICE. Terminate the idle input; an open one picks up what it likes.
    Source: IEC 60268-3 definition; W7.10.
    """
    return separation_of(read_wav(path))


def separation_of(recording: Recording) -> Separation:
    """Return what `separation` does for a recording; ValueError with a sentence."""
    if recording.channels != 2:
        raise ValueError(f"The recording has {recording.channels} channel(s); separation needs 2.")
    pair = [middle_of(recording.channel(n), recording.rate) for n in (1, 2)]
    levels = [float(np.std(samples)) for samples in pair]
    driven = int(np.argmax(levels))
    if levels[driven] < SILENT:
        raise ValueError("The recording is silent on both channels.")
    hertz = take_apart(pair[driven], recording.rate, recording.rate / 2).hertz
    strong, weak = (
        amplitude_at(pair[n] - pair[n].mean(), recording.rate, hertz) for n in (driven, 1 - driven)
    )
    return Separation(driven + 1, hertz, 20 * math.log10(strong / max(weak, 1e-12)))


@dataclass(frozen=True, slots=True, kw_only=True)
class Response:
    """Level against frequency, to the level nearest 1 kHz, and where it has fallen by 3 dB."""

    method: str
    hertz: tuple[float, ...]
    decibels: tuple[float, ...]
    lowest_hertz: float | None
    highest_hertz: float | None
    ripple_decibels: float


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
        reference = recording.channel(reference_channel)
        return _result("reference", *_against(reference, samples, recording.rate))
    tones = peaks_of(middle_of(samples, recording.rate), recording.rate)
    if 5 <= len(tones) <= 400 and _steady(samples, recording.rate):
        moving = middle_of(samples, recording.rate)
        moving = moving - moving.mean()
        levels = [amplitude_at(moving, recording.rate, tone) for tone in tones]
        return _result("multitone", np.array(tones), np.array(levels))
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
    first, last = (welch(part, rate, nperseg=min(4096, quarter))[1] for part in parts)
    shared = float(np.sum(np.sqrt(first * last)))
    return shared > 0.9 * math.sqrt(float(first.sum() * last.sum()))


def _against(reference: Samples, samples: Samples, rate: int) -> tuple[Samples, Samples]:
    if float(np.std(reference)) < SILENT:
        raise ValueError("The reference channel is silent.")
    long = min(len(samples), 2 ** int(math.log2(rate * 0.4)))
    places, cross = csd(reference, samples, rate, nperseg=long)
    _, power = welch(reference, rate, nperseg=long)
    heard = power > power.max() * 1e-9
    return _in_bands(places[heard], (np.abs(cross) / np.maximum(power, 1e-30))[heard])


def _track(samples: Samples, rate: int) -> tuple[Samples, Samples]:
    """Follow a sweep: the strongest frequency of each moment, with its level."""
    length = 2 ** int(math.log2(rate * 0.085))
    transform = ShortTimeFFT(
        hann(length, sym=False), hop=length // 4, fs=rate, scale_to="magnitude"
    )
    moments = [_moments(levels) for levels in _spectrogram(transform, samples)]
    strongest, level, energy = (np.concatenate(parts) for parts in zip(*moments, strict=True))
    places = transform.f[strongest]
    kept = (level > level.max() * 1e-4) & (places > 3 * rate / length)
    if len(np.unique(strongest[kept])) < 10:
        raise ValueError("No sweep or multitone was found; record a sweep over the band.")
    return _in_bands(places[kept], energy[kept])


def _spectrogram(transform: ShortTimeFFT, samples: Samples) -> Iterator[Samples]:
    """Yield levels by (frequency, moment), so many moments at once: all of them are ten recordings."""
    first, last = transform.p_min, transform.p_max(len(samples))
    for start in range(first, last, _MOMENTS):
        yield np.abs(transform.stft(samples, start, min(start + _MOMENTS, last)))


def _moments(levels: Samples) -> tuple[NDArray[np.intp], Samples, Samples]:
    """Return the place of the strongest level of each moment, that level, and the energy about it."""
    strongest = levels.argmax(axis=0)
    # A moving tone spreads over its neighbours.
    energy = np.array([_about(levels[:, t], peak) for t, peak in enumerate(strongest)])
    return strongest, levels.max(axis=0), energy


def _about(column: Samples, peak: int) -> float:
    near = column[max(0, peak - 8) : peak + 9]
    return float(np.sqrt(np.sum(near**2)))


def _in_bands(places: Samples, levels: Samples) -> tuple[Samples, Samples]:
    """Return the r.m.s. level in each third octave that was reached."""
    bands = []
    for centre in CENTRES:
        inside = (places >= centre * 10**-0.05) & (places < centre * 10**0.05)
        if np.any(inside):
            bands.append((centre, math.sqrt(float(np.mean(levels[inside] ** 2)))))
    return np.array([c for c, _ in bands]), np.array([level for _, level in bands])


def _result(method: str, places: Samples, levels: Samples) -> Response:
    if len(places) < 3:
        raise ValueError(
            "Too few frequencies were found; record a sweep or multitone over the band."
        )
    reference = levels[int(np.argmin(np.abs(np.log(places / 1000))))]
    decibels = 20 * np.log10(np.maximum(levels / reference, 1e-9))
    within_3 = places[decibels >= -3.0]
    low = float(within_3.min()) if decibels[0] < -3 else None
    high = float(within_3.max()) if decibels[-1] < -3 else None
    middle = decibels[(places >= (low or 0)) & (places <= (high or 1e9))]
    return Response(
        method=method,
        hertz=tuple(float(place) for place in places),
        decibels=tuple(float(level) for level in decibels),
        lowest_hertz=low,
        highest_hertz=high,
        ripple_decibels=float(middle.max() - middle.min()),
    )


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
