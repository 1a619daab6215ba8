"""The shell: signals as files, and the sound card of this machine in place of a real one."""

from __future__ import annotations

import importlib
import io
import sys

import numpy as np
import pytest
from django.core.management import CommandError, call_command
from scipy.io import wavfile

from shop.jobs.models import LedgerRow

pytestmark = pytest.mark.django_db


class PortAudioError(Exception):
    pass


class Card:
    """A card whose output is wired to its input through a stage that adds a third harmonic."""

    PortAudioError = PortAudioError

    def __init__(self, flags="", fault=None):
        self.flags, self.fault, self.played, self.device = flags, fault, None, None

    def query_devices(self):
        return [
            {
                "name": "Line",
                "max_input_channels": 2,
                "max_output_channels": 2,
                "default_samplerate": 48_000.0,
            }
        ]

    def playrec(self, data, samplerate, channels, device):
        if self.fault:
            raise self.fault
        self.played, self.device = data, device
        late = np.roll(data, 1234, axis=0)
        return (late - 0.1 * late**3)[:, :channels]

    def wait(self):
        return self.flags


@pytest.fixture
def plug_in(monkeypatch):
    def plug(card):
        monkeypatch.setitem(sys.modules, "sounddevice", card)
        return card

    return plug


@pytest.fixture
def number(bench):
    return bench.receive()


def said(*words):
    out = io.StringIO()
    call_command("sound", *words, stdout=out)
    return out.getvalue()


def test_a_signal_is_written_without_any_card(monkeypatch, tmp_path):
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    file = tmp_path / "sweep.wav"
    told = said("signal", "sweep", str(file), "--rate", "44100", "--level", "-6", "--side", "left")
    rate, samples = wavfile.read(file)
    assert (rate, samples.dtype, len(samples)) == (44_100, np.int16, 21 * 44_100)
    assert np.abs(samples[:, 0]).max() / 32768 == pytest.approx(10 ** (-6 / 20), rel=1e-3)
    assert "peaks at -6 dB of full scale" in told


def test_devices_are_listed(plug_in):
    plug_in(Card())
    assert said("devices").strip() == "0 Line: 2 in, 2 out, 48000 Hz"


def test_a_tone_through_a_known_stage_is_measured_and_written(plug_in, number, line_in):
    """y = x - 0.1 x^3 of a peak A: third harmonic 0.1 A^2/4 / (1 - 0.3 A^2/4) (series of the sine)."""
    card = plug_in(Card())
    told = said(
        "measure", str(number), "sine", "--level", "-6", "--ready", "--input", "Line in",
        "--in-device", "3", "--out-device", "4", "--keep", "--by", "technician",
    )  # fmt: skip
    peak = 10 ** (-6 / 20)
    found = {
        row.data["quantity"]: row.data
        for row in LedgerRow.objects.filter(job_id=number, event_type="reading_taken")
    }
    third = 100 * 0.1 * peak**2 / 4 / (1 - 0.3 * peak**2 / 4)
    assert found["thd_f_percent"]["value"] == pytest.approx(third, rel=1e-3)
    volts = 20 * peak * (1 - 0.3 * peak**2 / 4)
    assert found["level_volts"]["value"] == pytest.approx(volts, rel=1e-4)
    assert found["level_volts"]["source"].startswith("sound card Line in, calibrated ")
    assert "Played sine, -6 dB of full scale, both." in found["level_volts"]["note"]
    assert card.device == (3, 4)
    assert f"Written into job {number}." in told


def test_without_keep_it_is_shown_alone(plug_in, number):
    plug_in(Card())
    told = said("measure", str(number), "multitone", "--ready")
    assert "ripple" in told
    assert not LedgerRow.objects.filter(job_id=number, event_type="curve_measured").exists()


def test_nothing_is_played_before_somebody_said_that_all_is_ready(plug_in, number):
    card = plug_in(Card())
    with pytest.raises(CommandError, match="Nothing is played without --ready"):
        said("measure", str(number), "sine")
    assert card.played is None


def test_silence_only_records(plug_in, number):
    card = plug_in(Card())
    with pytest.raises(CommandError, match="silent on this channel"):
        said("measure", str(number), "silence", "--what", "tone")
    assert not card.played.any()


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["--input", "Attic"], "input is 'Attic'; no input in use has that name"),
        (["--keep"], "--keep needs the name of who measured"),
        (["--keep", "--by", "nemo"], "by is 'nemo'"),
        (["--channel", "9"], "Channel"),
        (["--level", "7"], "level_decibels is 7 dB"),
    ],
)
def test_what_cannot_be_gets_a_sentence(plug_in, number, words, sentence):
    plug_in(Card())
    with pytest.raises(CommandError, match=sentence):
        said("measure", str(number), "sine", "--ready", *words)


def test_no_such_job(plug_in):
    plug_in(Card())
    with pytest.raises(CommandError, match="There is no job"):
        said("measure", "999999", "sine", "--ready")


@pytest.mark.parametrize(
    ("card", "sentence"),
    [
        (Card(fault=PortAudioError("Invalid sample rate")), "cannot do that: Invalid sample rate"),
        (Card(fault=ValueError("No input device 9")), "cannot do that: No input device 9"),
        (Card(flags="input overflow"), r"Samples were lost on the way \(input overflow\)"),
    ],
)
def test_a_card_that_cannot_says_why_and_nothing_is_written(plug_in, number, card, sentence):
    plug_in(card)
    with pytest.raises(CommandError, match=sentence):
        said("measure", str(number), "sine", "--ready", "--keep", "--by", "technician")
    assert not LedgerRow.objects.filter(job_id=number, event_type="reading_taken").exists()


def test_without_the_extra_it_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    with pytest.raises(CommandError, match=r"pip install 'benchtag\[sound\]'"):
        said("devices")


def test_without_portaudio_it_says_what_to_install(monkeypatch):
    def absent(name):
        raise OSError("PortAudio library not found")

    monkeypatch.setattr(importlib, "import_module", absent)
    with pytest.raises(CommandError, match="libportaudio2"):
        said("devices")
