"""Tape heads, level and bias."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import scipy

from shop.bench.audio.flutter import turned_down
from shop.bench.audio.spectrum import NO_TONE, decibels_of, middle_of, window_of
from shop.bench.audio.wav import SILENT, Recording, read_wav
from shop.bench.inputs import rising, same_length, series, within

CASSETTE_SPEED, CASSETTE_SPACING = 4.76, 0.9  # cm/s; mm between the middles of the two tracks
LEAST_ALIKE = 0.5  # below it the two channels hold no common tone


@dataclass(frozen=True, slots=True, kw_only=True)
class Azimuth:
    """How far apart in time two tracks are, and what that means.

    `phase_degrees`: positive when channel 2 is late. `wander_degrees`: by how much it moves, as a
    tape that skews does. `mono_decibels`: what the sum of both loses.
    """

    hertz: float
    phase_degrees: float
    wander_degrees: float
    delay_microseconds: float
    tilt_arc_minutes: float
    mono_decibels: float
    level_difference_decibels: float
    hints: tuple[str, ...]


def azimuth(
    path: str,
    tape_centimetres_per_second: float = CASSETTE_SPEED,
    spacing_millimetres: float = CASSETTE_SPACING,
) -> Azimuth:
    """Return the azimuth error of a head from the phase between two tracks of a test tape.

    path of a WAV file with two channels, both with the same high tone (8 or 10 kHz) recorded across
    the full width; speed 1..100 cm/s; spacing 0.1..50 mm between the middles of the two tracks.
    ValueError with a sentence.
    Formula: delay = phase / (360 f); tan(tilt) = speed delay / spacing; sum of both: 20 log10 |cos(phase / 2)|.
    Caution: NOTICE. Phase tells a whole cycle from none in nothing: set the loudest tone first, low tones before high ones.
    Source: geometry; 0.9 mm and 4.76 cm/s of a cassette, from memory.
    """
    return azimuth_of(read_wav(path), tape_centimetres_per_second, spacing_millimetres)


def azimuth_of(
    recording: Recording, speed: float = CASSETTE_SPEED, spacing: float = CASSETTE_SPACING
) -> Azimuth:
    """Return what `azimuth` does for a recording; ValueError with a sentence."""
    within("tape_centimetres_per_second", speed, 1, 100, "cm/s")
    within("spacing_millimetres", spacing, 0.1, 50, "mm")
    if recording.channels != 2:
        raise ValueError(f"The recording has {recording.channels} channel(s); azimuth needs 2.")
    left, right = (_moving(recording, number) for number in (1, 2))
    hertz = _strongest(left + right if np.std(left + right) > SILENT else left, recording.rate)
    first, second = (turned_down(one, recording.rate, hertz)[0] for one in (left, right))
    inner = slice(len(first) // 20, -len(first) // 20)
    both = first[inner] * np.conj(second[inner])
    mean = complex(both.mean())
    sizes = [float(np.mean(np.abs(one[inner]) ** 2)) for one in (first, second)]
    if min(sizes) <= 0 or abs(mean) < LEAST_ALIKE * math.sqrt(sizes[0] * sizes[1]):
        raise ValueError(f"{NO_TONE} Azimuth needs the same one on both channels.")
    phase = math.degrees(math.atan2(mean.imag, mean.real))
    delay = phase / 360 / hertz
    return Azimuth(
        hertz=hertz,
        phase_degrees=phase,
        wander_degrees=math.degrees(float(np.std(np.angle(both / mean)))),
        delay_microseconds=1e6 * delay,
        tilt_arc_minutes=_tilt(delay, speed, spacing),
        mono_decibels=decibels_of(abs(math.cos(math.radians(phase) / 2))),
        level_difference_decibels=10 * math.log10(sizes[1] / sizes[0]),
        hints=tuple(_hints(hertz, phase)),
    )


def _moving(recording: Recording, number: int) -> np.ndarray:
    middle = middle_of(recording.channel(number), recording.rate)
    if float(np.std(middle)) < SILENT:
        raise ValueError(f"The recording is silent on channel {number}.")
    return np.asarray(middle - middle.mean())


def _strongest(moving: np.ndarray, rate: int) -> float:
    lines = np.abs(np.fft.rfft(moving * window_of(len(moving))))
    lowest = int(20 * len(moving) / rate)
    return (lowest + int(np.argmax(lines[lowest:]))) * rate / len(moving)


def _tilt(delay: float, speed: float, spacing: float) -> float:
    """Return the tilt in minutes of arc for a delay in s, a speed in cm/s, a spacing in mm."""
    return 60 * math.degrees(math.atan(delay * speed * 10 / spacing))


def _hints(hertz: float, phase: float) -> list[str]:
    hints = []
    if hertz < 3000:
        hints.append(f"{hertz:.0f} Hz tells azimuth only coarsely; set it finely at 8 or 10 kHz.")
    if abs(phase) > 120:
        hints.append(
            "Nearly half a cycle: the true error may be a whole cycle more. Check at 1 kHz."
        )
    return hints


@dataclass(frozen=True, slots=True)
class AzimuthAngle:
    """The tilt of a head between two tracks."""

    delay_microseconds: float
    tilt_arc_minutes: float
    mono_decibels: float


def azimuth_angle(
    phase_degrees: float,
    hertz: float,
    tape_centimetres_per_second: float = CASSETTE_SPEED,
    spacing_millimetres: float = CASSETTE_SPACING,
) -> AzimuthAngle:
    """Return the tilt of a head from the phase between two tracks, as a scope shows it.

    phase_degrees -180..180; hertz 20..40,000 Hz; speed 1..100 cm/s; spacing 0.1..50 mm between the
    middles of the two tracks.
    Formula: delay = phase / (360 f); tan(tilt) = speed delay / spacing; sum of both: 20 log10 |cos(phase / 2)|.
    Caution: NOTICE. A whole cycle looks like none: the loudest tone first, low tones before high ones.
    Source: geometry; 0.9 mm and 4.76 cm/s of a cassette, from memory.
    """
    phase = within("phase_degrees", phase_degrees, -180, 180, "deg")
    delay = phase / 360 / within("hertz", hertz, 20, 40_000, "Hz")
    speed = within("tape_centimetres_per_second", tape_centimetres_per_second, 1, 100, "cm/s")
    spacing = within("spacing_millimetres", spacing_millimetres, 0.1, 50, "mm")
    lost = decibels_of(abs(math.cos(math.radians(phase) / 2)))
    return AzimuthAngle(1e6 * delay, _tilt(delay, speed, spacing), lost)


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadLosses:
    """What a playback head loses of one wavelength."""

    wavelength_micrometres: float
    azimuth_decibels: float
    gap_decibels: float
    spacing_decibels: float
    total_decibels: float


def head_losses(
    hertz: float,
    tape_centimetres_per_second: float = CASSETTE_SPEED,
    track_width_millimetres: float = 0.6,
    tilt_arc_minutes: float = 0.0,
    gap_micrometres: float = 1.0,
    gap_to_tape_micrometres: float = 0.0,
) -> HeadLosses:
    """Return what tilt, gap and distance of a playback head take from a tone.

    hertz 20..40,000 Hz; speed 1..100 cm/s; track 0.1..30 mm; tilt 0..120 minutes of arc; gap
    0..20 um; distance of the head from the tape (dirt, wear) 0..50 um.
    Formula: wavelength = speed / f; tilt: sinc(width tan(tilt) / wavelength); gap: sinc(gap / wavelength);
    distance: 54.6 dB for each wavelength.
    Caution: NOTICE. Clean before you adjust: a micrometre of dirt costs a cassette 11 dB at 10 kHz.
    Source: R. L. Wallace, Bell System Technical Journal 1951, spacing loss; sinc of gap and tilt, from memory.
    """
    speed = within("tape_centimetres_per_second", tape_centimetres_per_second, 1, 100, "cm/s")
    wave = 1e4 * speed / within("hertz", hertz, 20, 40_000, "Hz")
    width = 1e3 * within("track_width_millimetres", track_width_millimetres, 0.1, 30, "mm")
    tilt = math.radians(within("tilt_arc_minutes", tilt_arc_minutes, 0, 120, "arcmin") / 60)
    gap = within("gap_micrometres", gap_micrometres, 0, 20, "um")
    away = within("gap_to_tape_micrometres", gap_to_tape_micrometres, 0, 50, "um")
    by_tilt = decibels_of(abs(float(np.sinc(width * math.tan(tilt) / wave))))
    by_gap = decibels_of(abs(float(np.sinc(gap / wave))))
    by_distance = -40 * math.pi * math.log10(math.e) * away / wave
    return HeadLosses(
        wavelength_micrometres=wave,
        azimuth_decibels=by_tilt,
        gap_decibels=by_gap,
        spacing_decibels=by_distance,
        total_decibels=by_tilt + by_gap + by_distance,
    )


@dataclass(frozen=True, slots=True)
class TapeLevel:
    """How a test tape stands to the level that is wanted."""

    test_tape_decibels: float
    says: str


def tape_level(
    test_nanowebers_per_metre: float, wanted_nanowebers_per_metre: float = 250.0
) -> TapeLevel:
    """Return where the meter must stand with a test tape of one fluxivity, when 0 is to be another.

    Both 10..2000 nWb/m.
    Formula: 20 log10(test / wanted).
    Caution: NOTICE. Fluxivity by IEC and by the older American way differ by up to a decibel: see the tape's leaflet.
    Source: definition; 185, 200, 250 and 320 nWb/m are in use, common practice.
    """
    test = within("test_nanowebers_per_metre", test_nanowebers_per_metre, 10, 2000, "nWb/m")
    wanted = within("wanted_nanowebers_per_metre", wanted_nanowebers_per_metre, 10, 2000, "nWb/m")
    stands = 20 * math.log10(test / wanted)
    return TapeLevel(
        stands,
        f"With {test:g} nWb/m the meter stands at {stands:+.1f} dB when 0 is {wanted:g} nWb/m.",
    )


@dataclass(frozen=True, slots=True)
class TapeBias:
    """The bias of the most output of a high tone, and the one past it that is wanted."""

    peak_millivolts: float
    peak_decibels: float
    set_millivolts: float
    set_decibels: float


def tape_bias(
    bias_millivolts: Sequence[float], decibels: Sequence[float], over_decibels: float = 3.0
) -> TapeBias:
    """Return the bias to set: past the peak of a high tone by the decibels of the sheet.

    bias_millivolts 0.01..100,000 mV, as read across a resistor in the lead of the head, rising; decibels
    -100..100 dB, the playback level of the tone, one each, four or more, past the peak by more than
    is wanted; over_decibels 0.1..20 dB.
    Formula: peak by a parabola through its three readings; then the curve through the readings.
    Caution: NOTICE. Record the tone 20 dB below the reference level, or the tape itself compresses.
    Source: common practice; 6.3 or 10 kHz, 1.5 to 5 dB by tape and speed.
    """
    bias = series("bias_millivolts", bias_millivolts, low=0.01, high=1e5, unit="mV", fewest=4)
    level = series("decibels", decibels, low=-100, high=100, unit="dB", fewest=4)
    over = within("over_decibels", over_decibels, 0.1, 20, "dB")
    same_length("bias_millivolts", bias, "decibels", level)
    rising("bias_millivolts", bias, "mV")
    top = int(np.argmax(level))
    if not 0 < top < len(level) - 1:
        raise ValueError("decibels has its peak at an end; read on until it falls on both sides.")
    at, peak = _parabola(bias[top - 1 : top + 2], level[top - 1 : top + 2])
    if min(level[top:]) > peak - over:
        raise ValueError(
            f"decibels falls by {peak - min(level[top:]):.2g} dB past its peak; over_decibels is {over:g} dB:"
            " read on with more bias."
        )
    curve = scipy.interpolate.PchipInterpolator(
        [at, *(b for b in bias if b > at)], [peak, *_after(bias, level, at)]
    )
    wanted = scipy.optimize.brentq(
        lambda b: float(curve(b)) - (peak - over), at, _first_below(bias, level, at, peak - over)
    )
    return TapeBias(at, peak, float(wanted), peak - over)


def _after(bias: Sequence[float], level: Sequence[float], at: float) -> list[float]:
    return [db for b, db in zip(bias, level, strict=True) if b > at]


def _first_below(bias: Sequence[float], level: Sequence[float], at: float, wanted: float) -> float:
    return next(b for b, db in zip(bias, level, strict=True) if b > at and db <= wanted)


def _parabola(places: Sequence[float], levels: Sequence[float]) -> tuple[float, float]:
    """Return the top of the parabola through three readings: place and level."""
    a, b, c = np.polyfit(np.array(places) - places[1], levels, 2)
    if a >= 0:
        return places[1], levels[1]
    return float(places[1] - b / (2 * a)), float(c - b**2 / (4 * a))
