from __future__ import annotations

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from shop.bench.audio.equalisation import playback_decibels
from shop.jobs.models import LedgerRow
from tests.bench.audio.waves import RATE, as_file, sine

pytestmark = pytest.mark.django_db


@pytest.fixture
def number(bench):
    return bench.receive()


@pytest.fixture
def send(client, people, number):
    client.force_login(people.technician)

    def post(samples, **more):
        made = samples if isinstance(samples, bytes) else as_file(samples).getvalue()
        body = {
            "recording": SimpleUploadedFile("sweep ☂.wav", made),
            "what": "tone",
            "channel": "1",
            "reference_channel": "0",
            "bandwidth_hertz": "20000",
            "mains_hertz": "50",
            "keep": "on",
        }
        return client.post(f"/jobs/{number}/recording/", body | more)

    return post


def readings(number):
    rows = LedgerRow.objects.filter(job_id=number, event_type="reading_taken").order_by("sequence")
    return {row.data["quantity"]: row.data for row in rows}


def test_a_tone_becomes_readings_with_bandwidth_and_source(send, number):
    answer = send(sine(1000) + sine(2000, 0.005), full_scale_volts="10", note="1 W, 8 ohm")
    found = readings(number)
    assert answer.status_code == 200
    assert found["thd_f_percent"]["value"] == pytest.approx(1.0, rel=1e-4)
    assert found["level_volts"]["value"] == pytest.approx(5.0, rel=1e-4)
    assert (found["thd_n_percent"]["unit"], found["level_volts"]["unit"]) == ("%", "V")
    assert "Bandwidth 20\u202f000 Hz." in found["thd_n_percent"]["note"]
    assert found["thd_n_percent"]["source"].startswith("recording sweep ☂.wav, sha256 ")


def test_a_known_tone_calibrates_itself(send, number):
    send(sine(amplitude=0.25), tone_volts="2.828")
    assert readings(number)["level_volts"]["value"] == pytest.approx(2.828, rel=1e-5)


def test_only_looking_writes_nothing(send, number):
    answer = send(sine(), keep="")
    assert "THD by the fundamental (F)" in answer.content.decode()
    assert readings(number) == {}


def test_noise_separation_and_response(send, number):
    quiet = np.random.default_rng(1).normal(0, 1e-4, 2 * RATE)
    assert "rectifier ripple" in send(quiet + sine(100, 0.01), what="noise").content.decode()
    send(np.column_stack([sine(), sine(amplitude=0.0005)]), what="separation")
    tones = sum(sine(31.5 * 2**n, 0.05, phase=n) for n in range(10))
    page = send(tones, what="response").content.decode()
    found = readings(number)
    assert found["separation_decibels"]["value"] == pytest.approx(60, abs=0.01)
    assert "<svg" in page
    assert "noise_a_decibels" in found


def test_two_tones_give_their_intermodulation(send, number):
    send(sine(60, 0.4) + sine(7000, 0.1) + sine(7060, 0.001), what="intermodulation")
    found = readings(number)
    assert found["intermodulation_percent"]["value"] == pytest.approx(1.0, rel=1e-3)


def test_azimuth_and_a_phono_stage(send, number):
    late = np.column_stack([sine(8000, phase=0.3), sine(8000, phase=0.3 - np.pi / 4)])
    send(late, what="azimuth")
    assert readings(number)["phase_degrees"]["value"] == pytest.approx(45, abs=0.01)
    tones = [31.5 * 2**n for n in range(10)]
    through = sum(sine(f, 0.05 * 10 ** (playback_decibels("riaa", f) / 20), phase=f) for f in tones)
    page = send(through, what="response", curve="riaa").content.decode()
    assert readings(number)["curve_worst_decibels"]["value"] == pytest.approx(0, abs=0.01)
    assert "Against riaa: At most 0.0" in page


def test_a_test_tone_gives_speed_and_flutter(send, number):
    send(sine(3000, seconds=4.0), what="flutter", test_hertz="3150")
    found = readings(number)
    assert found["speed_error_percent"]["value"] == pytest.approx(-4.762, abs=1e-3)
    assert found["weighted_flutter_percent"]["value"] == pytest.approx(0, abs=1e-4)
    assert "ten seconds" in found["weighted_flutter_percent"]["note"]


@pytest.mark.parametrize(
    ("samples", "sentence"),
    [
        (b"no recording", "cannot be read as a WAV recording"),
        (as_file(sine()).getvalue()[:100_000], "cut off"),
        (np.zeros(RATE), "silent on this channel"),
        (sine(seconds=0.05), "it must be 200 ms or more"),
        (np.clip(sine(amplitude=3.0), -1, 1), "recording itself is clipped"),
    ],
)
def test_files_that_cannot_serve_get_a_sentence_and_write_nothing(send, number, samples, sentence):
    answer = send(samples)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()
    assert readings(number) == {}


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"channel": "3"}, "channel is 3; the recording has one channel"),
        ({"what": "separation"}, "separation needs 2"),
        ({"bandwidth_hertz": "-4"}, "Bandwidth (Hz)"),
        ({"what": "dance"}, "It holds"),
    ],
)
def test_wrong_fields_get_a_sentence(send, more, sentence):
    answer = send(sine(), **more)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()


def test_a_closed_job_takes_none(send, bench, number):
    bench.pass_gate(number, "hand-back")
    bench.stage(number, "withdrawn")
    assert send(sine()).status_code == 409
