"""Inputs of sound cards: calibrated by a tone or told, changed, retired, exported."""

from __future__ import annotations

import io

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from scipy.io import wavfile

from shop.bench.audio.signals import KINDS, SILENT
from shop.sound.models import SoundInput
from tests.bench.audio.waves import as_file, sine
from tests.transfer.test_bundles import bundle_of, empty, exported, imported

pytestmark = pytest.mark.django_db
SCRIPTS = ["Meßeingang", "Вход", "είσοδος", "线路输入", "כניסה", "लाइन इन"]
SOUND = "/sound/"


@pytest.fixture
def hands(client, people):
    client.force_login(people.technician)
    return client


def add(hands, path=SOUND, samples=None, **more):
    body = {"name": "Line in", "channel": "1"} | more
    if samples is not None:
        body["recording"] = SimpleUploadedFile("tone.wav", as_file(samples).getvalue())
    return hands.post(path, body)


@pytest.mark.parametrize("name", SCRIPTS)
def test_one_is_told_in_any_script(hands, people, name):
    assert add(hands, name=name, full_scale_volts="2,5").status_code == 302
    one = SoundInput.objects.get()
    assert (one.name, one.full_scale_volts, one.calibrated_by) == (name, 2.5, people.technician)
    assert name in hands.get(SOUND).content.decode()


def test_a_tone_that_a_meter_read_calibrates_it(hands):
    """A tone of a quarter of full scale read as 1 V: full scale is 4 V."""
    assert add(hands, samples=sine(1000, 0.25), tone_volts="1").status_code == 302
    one = SoundInput.objects.get()
    assert one.full_scale_volts == pytest.approx(4, rel=1e-5)
    assert one.tone_volts == 1
    assert "by a tone" in hands.get(SOUND).content.decode()


def test_the_tone_may_be_on_the_other_channel(hands):
    both = np.column_stack([sine(1000, 0.5), sine(1000, 0.1)])
    assert add(hands, samples=both, tone_volts="1", channel="2").status_code == 302
    assert SoundInput.objects.get().full_scale_volts == pytest.approx(10, rel=1e-5)


def test_calibrated_again_it_is_the_same_input(hands, line_in):
    again = f"{SOUND}?again={line_in.pk}"
    assert 'value="Line in"' in hands.get(again).content.decode()
    assert add(hands, again, name="Line in", full_scale_volts="7").status_code == 302
    assert SoundInput.objects.get().full_scale_volts == 7


@pytest.mark.parametrize(
    ("more", "said"),
    [
        ({}, "Give the volts of a tone and its recording"),
        ({"tone_volts": "1"}, "Give the volts of a tone and its recording"),
        ({"full_scale_volts": "1", "tone_volts": "1"}, "not both"),
        ({"full_scale_volts": "0"}, "greater than or equal to 1e-06"),
        ({"full_scale_volts": "loud"}, "loud"),
        ({"name": "", "full_scale_volts": "1"}, "This field is required"),
        ({"samples": np.zeros(48_000), "tone_volts": "1"}, "silent on this channel"),
        ({"samples": sine(), "tone_volts": "1", "channel": "2"}, "the recording has one channel"),
        ({"name": "a\x00b", "full_scale_volts": "1"}, "Null characters"),
    ],
)
def test_what_is_no_calibration_gets_a_sentence(hands, more, said):
    answer = add(hands, **more)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert not SoundInput.objects.exists()


def test_two_of_one_name_would_not_be_told_apart(hands, line_in):
    answer = add(hands, full_scale_volts="3")
    assert answer.status_code == 422
    assert "another input has it" in answer.content.decode()
    assert SoundInput.objects.get().full_scale_volts == 20


def test_one_that_is_gone_is_not_calibrated(hands):
    assert add(hands, f"{SOUND}?again=77", full_scale_volts="3").status_code == 404


def test_retired_it_is_offered_no_longer_until_it_is_taken_back(hands, bench, line_in):
    page, retire = f"/jobs/{bench.receive()}/recording/", f"/sound/{line_in.pk}/retire/"
    assert "data-play" in hands.get(page).content.decode()
    hands.post(retire, {"act": "retire"})
    assert "data-play" not in hands.get(page).content.decode()
    hands.post(retire, {"act": "back"})
    assert "data-play" in hands.get(page).content.decode()


def test_nothing_of_it_is_on_a_job_before_one_is_set_up(hands, bench):
    page = hands.get(f"/jobs/{bench.receive()}/recording/").content.decode()
    for absent in ("data-play", "sound.js", "Recorded by", '<svg class="chart"'):
        assert absent not in page


@pytest.mark.parametrize("kind", KINDS)
def test_each_signal_is_a_file_of_the_rate_level_and_side(hands, kind):
    address = reverse("sound-signal", args=[kind])
    answer = hands.get(address, {"rate": "44100", "level": "-30", "side": "right"})
    rate, samples = wavfile.read(io.BytesIO(answer.content))
    assert (rate, samples.dtype) == (44_100, np.int16)
    assert not samples[:, 0].any()
    loudest = np.abs(samples[:, 1]).max() / 32768
    assert loudest == (0 if kind in SILENT else pytest.approx(10 ** (-30 / 20), rel=0.01))
    assert f'filename="{kind}-30dB-right-44100.wav"' in answer["Content-Disposition"]
    offered = f"{address}?rate=44100" in hands.get(SOUND).content.decode()
    assert offered is (kind != "long-silence")


@pytest.mark.parametrize(
    ("asked", "said"),
    [
        ({"level": "3"}, "level_decibels is 3 dB; it must be from -90 to 0 dB"),
        ({"level": "nan"}, "level_decibels"),
        ({"rate": "1"}, "rate is 1; it must be from 44100"),
        ({"rate": "fast"}, "fast"),
        ({"side": "up"}, "side is 'up'; it must be one of both, left, right"),
    ],
)
def test_a_signal_that_cannot_be_gets_a_sentence(hands, asked, said):
    answer = hands.get(reverse("sound-signal", args=["sine"]), asked)
    assert answer.status_code == 422
    assert said in answer.content.decode()


def test_an_unknown_signal_is_told(hands):
    answer = hands.get(reverse("sound-signal", args=["bang"]))
    assert (answer.status_code, "must be one of sine" in answer.content.decode()) == (422, True)


@pytest.mark.django_db(transaction=True)
def test_inputs_go_along_in_a_bundle(line_in, tmp_path):
    raw = exported(timezone.now())
    empty()
    imported(raw, tmp_path)
    assert SoundInput.objects.get().full_scale_volts == 20
    table = "sound.soundinput"
    assert bundle_of(exported(timezone.now()))["tables"][table] == bundle_of(raw)["tables"][table]
