"""What outlets say: whatever arrives is a state with what could be read, or nothing."""

from __future__ import annotations

import json
import struct

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.outlets.messages import LARGEST_TICK, State, answer, read_state
from shop.outlets.modbus import state_of


def test_a_state_as_the_docs_have_it():
    said = b'{"tick": 7, "watts": 42.5, "volts": 230, "enabled": true, "closed": false}'
    assert read_state(said) == State(tick=7, watts=42.5, volts=230.0, enabled=True, closed=False)


@pytest.mark.parametrize(
    "payload",
    [b"", b"42.5", b"[]", b'"on"', b"\xff\xfe", b"{", b"[" * 5000, b"null"],
)
def test_what_is_no_object_is_no_state(payload):
    assert read_state(payload) is None


@pytest.mark.parametrize(
    ("said", "known"),
    [
        ({"watts": "42"}, {}),
        ({"watts": True}, {}),
        ({"watts": 1e9}, {}),
        ({"tick": -1}, {}),
        ({"tick": LARGEST_TICK + 1}, {}),
        ({"tick": 1.0}, {}),
        ({"tick": True}, {}),
        ({"enabled": 1, "closed": "no"}, {}),
        ({"watts": -3}, {"watts": -3.0}),
        ({"note": "ßжλ世"}, {}),
    ],
)
def test_what_is_odd_is_not_told(said, known):
    assert read_state(json.dumps(said).encode()) == State(**known)


def test_not_a_number_is_not_told():
    assert read_state(b'{"watts": NaN, "volts": Infinity}') == State()


@given(st.binary(max_size=200))
def test_no_bytes_break_it(payload):
    read_state(payload)


def test_an_answer_names_tick_and_holder():
    said = json.loads(answer(7, enable=True, holder="a"))
    assert said == {"enable": True, "tick": 7, "holder": "a"}


def test_registers_of_modbus():
    floats = [*struct.unpack(">HHHHHH", struct.pack(">fff", 42.5, 230.0, float("nan")))]
    assert state_of([1, 2, 1 | 4, *floats]) == State(
        tick=65538, watts=42.5, volts=230.0, amps=None, enabled=True, closed=False
    )


def test_a_device_that_measures_nothing_says_so():
    assert state_of([0, 5, 2, 0, 0, 0, 0, 0, 0]) == State(tick=5, enabled=False, closed=True)
