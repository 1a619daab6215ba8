"""Curves of a unit: written into the ledger, drawn beside the earlier ones."""

from __future__ import annotations

import re

import numpy as np
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone

from shop.bench.audio import signals
from shop.jobs.models import Job, LedgerRow
from shop.sound import curves
from tests.bench.audio.waves import as_file, sine

pytestmark = pytest.mark.django_db
TONES = [31.5 * 2**n for n in range(10)]


def through(gain):
    return sum(sine(f, 0.05 * gain(f), phase=f) for f in TONES)


def flat(hertz):
    return 1.0


def dull(hertz):
    """A low-pass of first order at 4 kHz."""
    return 1 / np.hypot(1, hertz / 4000)


@pytest.fixture
def unit():
    return {"make": "Corvenby", "model": "A 70", "serial": "4711"}


@pytest.fixture
def send(client, people):
    client.force_login(people.technician)

    def post(number, samples, **more):
        body = {
            "recording": SimpleUploadedFile("made.wav", as_file(samples).getvalue()),
            "what": "response",
            "channel": "1",
            "reference_channel": "0",
            "bandwidth_hertz": "20000",
            "mains_hertz": "50",
            "keep": "on",
        }
        answer = client.post(f"/jobs/{number}/recording/", body | more)
        assert answer.status_code == 200
        return answer.content.decode()

    return post


def rows(number):
    found = LedgerRow.objects.filter(job_id=number, event_type="curve_measured")
    return [row.data for row in found.order_by("sequence")]


def readings_of(number):
    found = LedgerRow.objects.filter(job_id=number, event_type="reading_taken")
    return {row.data["quantity"]: row.data for row in found}


def lines_of(page):
    return re.findall(r'<polyline class="c-line c-curve c-curve-(\d)"', page)


def test_a_response_is_written_down_as_a_curve(send, bench):
    number = bench.receive()
    send(number, through(dull), note="before")
    [row] = rows(number)
    assert row["x"] == pytest.approx(TONES, rel=1e-3)
    reference = dull(1008)
    assert row["y"] == pytest.approx([20 * np.log10(dull(f) / reference) for f in TONES], abs=0.01)
    assert (row["x_unit"], row["y_unit"], row["note"]) == ("Hz", "dB", "before")
    assert readings_of(number)["ripple_decibels"]["note"] == "before."
    assert row["source"].startswith("recording made.wav, sha256 ")


def test_after_the_repair_stands_beside_before_also_on_the_next_job(send, bench, unit):
    first = bench.receive(**unit)
    send(first, through(dull))
    bench.pass_gate(first, "hand-back")
    bench.stage(first, "withdrawn")
    second = bench.receive(**unit)
    assert Job.objects.get(pk=second).unit_id == Job.objects.get(pk=first).unit_id
    page = send(second, through(flat))
    # The newest is drawn last, over the others.
    assert lines_of(page) == ["1", "0"]
    assert f"job {first}," in page
    worst = 20 * np.log10(dull(1008) / dull(TONES[-1]))
    assert f"at most {worst:.1f} dB more, at 16.1 kHz" in page


def test_another_unit_has_none_of_them(send, bench, unit):
    send(bench.receive(**unit), through(flat))
    other = bench.receive(**unit | {"serial": "4712"})
    assert lines_of(send(other, through(flat))) == ["0"]


def test_one_that_is_only_looked_at_is_drawn_and_not_written(send, bench):
    number = bench.receive()
    page = send(number, through(flat), keep="")
    assert rows(number) == []
    assert "just measured, not written down" in page


def test_one_that_was_withdrawn_is_drawn_no_longer(send, bench):
    number = bench.receive()
    send(number, through(dull))
    row = LedgerRow.objects.get(job_id=number, event_type="curve_measured")
    bench.record(number, "entry_withdrawn", row=row.sequence, reason="wrong channel")
    assert lines_of(send(number, through(flat))) == ["0"]


def test_clipping_is_written_down_with_its_volts_and_its_curve(send, bench, line_in):
    number = bench.receive()
    made = np.clip(signals.signal("steps", level_decibels=-1), -0.45, 0.45)
    page = send(number, made, what="steps", load_ohms="8", sound_input=str(line_in.pk))
    kept = readings_of(number)
    # Full scale is 20 V: a peak of 0.45 is clipped at 9 V, and has 9.3 V r.m.s. scale at 1 %.
    assert kept["clipping_volts"]["value"] == pytest.approx(9.3, rel=0.02)
    watts = kept["clipping_volts"]["value"] ** 2 / 8
    assert kept["clipping_watts"]["value"] == pytest.approx(watts, rel=1e-5)
    source = kept["clipping_volts"]["source"]
    assert source.startswith(f"sound card Line in, calibrated {timezone.localdate():%-d %B %Y}")
    assert "full scale 20 V" in source
    [row] = rows(number)
    assert (row["curve"], row["x_unit"], row["y_unit"]) == ("distortion", "V", "%")
    assert "Distortion over level" in page


def test_volts_beside_a_calibrated_input_contradict_it(client, people, bench, line_in):
    client.force_login(people.technician)
    answer = client.post(
        f"/jobs/{bench.receive()}/recording/",
        {
            "recording": SimpleUploadedFile("made.wav", as_file(sine()).getvalue()),
            "what": "tone",
            "channel": "1",
            "reference_channel": "0",
            "bandwidth_hertz": "20000",
            "mains_hertz": "50",
            "sound_input": str(line_in.pk),
            "full_scale_volts": "3",
        },
    )
    assert answer.status_code == 422
    assert "Line in is calibrated; leave this empty" in answer.content.decode()


@pytest.mark.parametrize(
    "row",
    [
        {},
        {"curve": "response", "x": [1], "y": [2]},
        {"curve": "response", "x": [1, 2], "y": ["a", 2]},
        {"curve": "response", "x": [1, 2, 3], "y": [1, 2]},
        {"curve": "response", "x": [1, 2], "y": [1, float("inf")]},
        {"curve": "response", "x": None, "y": [1, 2]},
    ],
)
def test_a_row_that_is_no_curve_is_drawn_by_nobody(row):
    with pytest.raises((LookupError, TypeError, ValueError)):
        curves.as_curve(row)


def test_of_many_the_newest_are_drawn():
    many = [
        curves.as_curve({"curve": "response", "x": [20, 1000, 20_000], "y": [-n, 0, n]})
        for n in range(9)
    ]
    [chart] = curves.charts(many)
    assert [line.curve for line in chart.lines] == many[: curves.MOST_LINES]


def test_curves_over_volts_and_over_full_scale_are_drawn_apart():
    row = {"curve": "distortion", "x": [0.5, 5, 9.3], "y": [0.02, 0.001, 1], "y_unit": "%"}
    both = [curves.as_curve(row | {"x_unit": unit}) for unit in ("V", "dB")]
    volts, scale = curves.charts(both)
    assert (volts.x_unit, scale.x_unit) == ("V", "dB")
    assert [said for said, _ in volts.y_ticks] == ["0.001", "0.01", "0.1", "1"]


def test_a_curve_of_another_edition_is_left_out():
    assert curves.charts([curves.as_curve({"curve": "smell", "x": [1, 2], "y": [1, 2]})]) == []


def test_two_figures_far_apart_do_not_leave_the_drawing():
    [chart] = curves.charts(
        [curves.as_curve({"curve": "response", "x": [20, 20_000], "y": [-90.0, 30.0]})]
    )
    places = [float(y) for pair in chart.lines[0].points.split() for y in pair.split(",")[1:]]
    assert all(curves.TOP <= y <= curves.BOTTOM for y in places)
