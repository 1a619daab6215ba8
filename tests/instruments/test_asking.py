"""Requests answered over real sockets (sinstruments) and on a simulated bus (pyvisa-sim)."""

from __future__ import annotations

import socket
import threading
from datetime import timedelta

import pytest
from django.utils import timezone

from shop.instruments import answering, asking, connecting, talking
from shop.instruments.models import Connection, Request
from shop.lib.refusals import BadInput, Refused
from tests.instruments.simulated import IDENTITY, Pulled, meter

pytestmark = [pytest.mark.django_db, pytest.mark.process]
VOLTS = ("dc-voltage", 60.0, {"reading_percent": 0.5, "counts": 2, "resolution": 0.001})
DC = "MEAS:VOLT:DC?"


@pytest.fixture(autouse=True)
def _short(monkeypatch):
    """Wait for an answer no longer than a test may."""
    monkeypatch.setattr(talking, "WAIT_SECONDS", 1.0)
    monkeypatch.setitem(asking.SECONDS, Request.READ, 6.0)


@pytest.fixture
def connected(add_instrument, people):
    """Connect an instrument to a simulated one, as if it had been tested."""

    def connect(resource, name="Bench meter", identity=IDENTITY):
        made = add_instrument(name, VOLTS)
        connecting.save(made, resource, 9600, {"dc-voltage": ""}, by=people.owner)
        Connection.objects.filter(instrument=made).update(identity=identity)
        return made

    return connect


@pytest.fixture
def read(people):
    def ask(instrument):
        asked = asking.read(instrument, "dc-voltage", by=people.technician, at=timezone.now())
        assert asked.state == Request.WAITING
        answering.answer_waiting(now=timezone.now())
        asked.refresh_from_db()
        return asked

    return ask


def test_a_value_that_stands_still_is_taken(connected, read):
    with meter(**{DC: ["+1.2", "+1.5", "+1.0012E+00", "+1.0011E+00"]}) as device:
        asked = read(connected(device.resource))
    assert (asked.state, asked.value, asked.said) == (Request.DONE, 1.0011, "")
    assert device.asked[0] == "*IDN?"
    assert set(device.asked[1:]) == {DC}


def test_one_that_never_settles_is_told_with_how_far_it_moves(connected, read):
    with meter(**{DC: [f"{n % 2 + 1}.0" for n in range(500)]}) as device:
        asked = read(connected(device.resource))
    assert (asked.state, asked.value) == (Request.FAILED, None)
    assert (
        asked.said
        == "It did not stand still in 6 seconds: 1\u00a0V to 2\u00a0V. Read it and type it."
    )


@pytest.mark.parametrize(
    ("answers", "said"),
    [
        (["9.90000000E+37"], "It shows overload"),
        (["9.91E37"], "it has no number"),
        (["1.0 A"], "a number of V was asked for"),
        (["hello"], "which is no number"),
        (["70.0"], "beyond its ranges"),
        ([None], "did not answer in time"),
        (["1.0", "1.0", Pulled], "It stopped answering"),
        (["1.0", "1.0", None], "It stopped answering"),
    ],
)
def test_what_is_no_reading_is_told_and_gives_no_value(connected, read, answers, said):
    with meter(**{DC: answers}) as device:
        asked = read(connected(device.resource))
    assert asked.state == Request.FAILED
    assert asked.value is None
    assert said in asked.said


def test_a_short_overload_while_it_looks_for_its_range_is_passed_over(connected, read):
    with meter(**{DC: ["9.9E37", "9.9E37", "0.5"]}) as device:
        assert read(connected(device.resource)).value == 0.5


def test_nobody_at_the_address(connected, read):
    with meter() as device:
        gone = device.resource
    asked = read(connected(gone))
    assert asked.state == Request.FAILED
    assert asked.said.startswith("Nothing is at this address.")
    assert asked.value is None


def test_another_instrument_at_the_address_is_not_read(connected, read):
    with meter(**{"*IDN?": "OTHER,X,1,1", DC: ["1.0"]}) as device:
        asked = read(connected(device.resource))
    assert "Another instrument answers" in asked.said
    assert asked.value is None
    assert DC not in device.asked


def test_one_is_asked_by_one_at_a_time(connected, people):
    instrument = connected("TCPIP::127.0.0.1::9::SOCKET")
    now = timezone.now()
    asking.read(instrument, "dc-voltage", by=people.technician, at=now)
    with pytest.raises(Refused, match="being asked already"):
        asking.read(instrument, "dc-voltage", by=people.owner, at=now)


def test_a_stranger_who_asks_in_between_gets_its_own_answers_and_we_ours(connected, read):
    with meter(**{DC: ["1.0"], "X?": "7"}) as device:
        instrument = connected(device.resource)
        _, host, port, _ = device.resource.replace("::", " ").split()
        heard, over = set(), threading.Event()

        def chatter():
            with socket.create_connection((host, int(port))) as line, line.makefile("rw") as file:
                while not over.is_set():
                    file.write("X?\n")
                    file.flush()
                    heard.add(file.readline())

        stranger = threading.Thread(target=chatter)
        stranger.start()
        asked = read(instrument)
        over.set()
        stranger.join()
    assert (asked.value, heard) == (1.0, {"7\n"})


def test_a_request_that_nobody_takes_ends_and_frees_the_instrument(connected, people):
    instrument = connected("TCPIP::127.0.0.1::9::SOCKET")
    then = timezone.now()
    asked = asking.read(instrument, "dc-voltage", by=people.technician, at=then)
    later = then + timedelta(seconds=asking.WAITS_SECONDS + 1)
    asking.read(instrument, "dc-voltage", by=people.technician, at=later)
    asked.refresh_from_db()
    assert "The worker did not take it" in asked.said


def test_a_worker_that_died_leaves_no_instrument_behind_it(connected, people):
    instrument = connected("TCPIP::127.0.0.1::9::SOCKET")
    then = timezone.now()
    asked = asking.read(instrument, "dc-voltage", by=people.technician, at=then)
    assert asking.take_next(then) == asked
    assert asking.take_next(then) is None
    asking.end_overdue(then + timedelta(seconds=asking.SECONDS[Request.READ] + 6))
    asked.refresh_from_db()
    assert "The worker broke off" in asked.said
    # Whoever still works on it comes too late.
    assert not asking.end(asked, Request.DONE, value=1.0)


def test_only_what_is_set_up_and_tested_is_read(connected, people, add_instrument):
    now = timezone.now()
    plain = add_instrument("Plain", VOLTS)
    with pytest.raises(Refused, match="has no connection"):
        asking.read(plain, "dc-voltage", by=people.technician, at=now)
    untested = connected("TCPIP::127.0.0.1::9::SOCKET", identity="")
    with pytest.raises(Refused, match="is not connected"):
        asking.read(untested, "dc-voltage", by=people.technician, at=now)
    tested = connected("TCPIP::127.0.0.1::9::SOCKET", "Other")
    with pytest.raises(BadInput, match="not set up to measure resistance"):
        asking.read(tested, "resistance", by=people.technician, at=now)


def test_without_an_accuracy_nobody_could_tell_that_it_stands_still(connected, read):
    with meter(**{DC: ["1.0"]}) as device:
        instrument = connected(device.resource)
        instrument.accuracies.all().delete()
        assert "has no accuracy" in read(instrument).said


class TestATest:
    def run(self, instrument, people):
        asked = asking.test(instrument, by=people.owner, at=timezone.now())
        answering.answer_waiting(now=timezone.now())
        asked.refresh_from_db()
        return asked, Connection.objects.get(instrument=instrument)

    def test_it_says_who_it_is_and_shows_each_quantity_once(self, connected, people):
        with meter(**{DC: ["0.0012"]}) as device:
            asked, connection = self.run(connected(device.resource, identity=""), people)
        assert asked.said == connection.identity == IDENTITY
        assert asked.found == [["d.c. voltage", "1.2\u00a0mV"]]
        assert connection.tested

    def test_a_command_it_does_not_know_is_told_beside_the_others(self, connected, people):
        with meter() as device:
            asked, connection = self.run(connected(device.resource, identity=""), people)
        assert "did not answer in time" in asked.found[0][1]
        assert connection.tested

    def test_one_that_is_silent_now_is_connected_no_longer(self, connected, people):
        with meter(**{"*IDN?": None}) as device:
            asked, connection = self.run(connected(device.resource), people)
        assert asked.state == Request.FAILED
        assert not connection.tested


class TestOnASimulatedBus:
    """pyvisa-sim: a meter on a serial line and one on USB, by its own file."""

    @pytest.fixture(autouse=True)
    def _bus(self, settings, tmp_path):
        file = tmp_path / "bus.yaml"
        file.write_text(BUS)
        settings.VISA_LIBRARY = f"{file}@sim"

    @pytest.mark.parametrize("address", ["ASRL1::INSTR", "USB0::0x1234::0x5678::SN42::INSTR"])
    def test_it_is_read(self, connected, read, address):
        assert read(connected(address)).value == 2.5

    def test_what_is_there_is_found_and_no_serial_line_written_to(self, people):
        asked = asking.find(by=people.owner, at=timezone.now())
        answering.answer_waiting(now=timezone.now())
        asked.refresh_from_db()
        assert sorted(map(tuple, asked.found)) == [
            ("ASRL1::INSTR", ""),
            ("USB0::0x1234::0x5678::SN42::0::INSTR", IDENTITY),
        ]


def test_a_library_that_is_not_there_is_named(connected, read, settings):
    settings.VISA_LIBRARY = "/nowhere/visa.so@ivi"
    assert "Install the extra `instruments` there" in read(connected("ASRL1::INSTR")).said


BUS = f"""
spec: "1.1"
devices:
  meter:
    eom:
      ASRL INSTR: {{q: "\\n", r: "\\n"}}
      USB INSTR: {{q: "\\n", r: "\\n"}}
    error: ERROR
    dialogues:
      - {{q: "*IDN?", r: "{IDENTITY}"}}
      - {{q: "MEAS:VOLT:DC?", r: "2.5"}}
resources:
  ASRL1::INSTR: {{device: meter}}
  USB0::0x1234::0x5678::SN42::INSTR: {{device: meter}}
"""
