"""The simulated outlet must be able to fail: what the docs ask of it, one rule after the other."""

from __future__ import annotations

import json
import time

import pytest

from tests.outlets.contactor import HOLD, Contactor


@pytest.fixture
def told(capsys):
    return lambda: [json.loads(line)["what"] for line in capsys.readouterr().out.splitlines()]


@pytest.fixture
def clock(monkeypatch):
    now = [1000.0]
    monkeypatch.setattr(time, "monotonic", lambda: now[0])
    return now


def test_leave_does_not_close_it_and_the_button_does(clock, told):
    one = Contactor()
    one.take(True, one.next_tick(), "a")
    assert (one.enabled, one.closed) == (True, False)
    one.press()
    assert one.closed


def test_its_button_alone_does_nothing(clock, told):
    one = Contactor()
    one.press()
    assert not one.closed


def test_one_that_restores_itself_is_told(clock, told):
    one = Contactor(restores=True)
    one.take(True, one.next_tick(), "a")
    assert one.closed


@pytest.mark.parametrize("late", [HOLD + 0.01, 60.0])
def test_an_answer_to_an_old_tick_is_worth_nothing(clock, told, late):
    one = Contactor()
    tick = one.next_tick()
    clock[0] += late
    one.take(True, tick, "a")
    assert not one.enabled


def test_leave_is_counted_from_the_tick_and_not_from_its_answer(clock, told):
    one = Contactor()
    tick = one.next_tick()
    clock[0] += 1.0
    one.take(True, tick, "a")
    assert one.leave_until == pytest.approx(1000.0 + HOLD)


def test_unknown_ticks_and_kept_messages_are_worth_nothing(clock, told):
    one = Contactor()
    tick = one.next_tick()
    one.take(True, tick ^ 1, "a")
    one.take(True, None, "a")
    one.take(True, tick, "a", retained=True)
    assert not one.enabled


@pytest.mark.parametrize("enable", [False, None, 1, "true"])
def test_all_else_ends_leave_and_older_ticks(clock, told, enable):
    one = Contactor()
    tick = one.next_tick()
    one.take(True, tick, "a")
    one.press()
    one.take(enable, tick, "a")
    assert (one.enabled, one.closed) == (False, False)
    one.take(True, tick, "a")
    assert not one.enabled


def test_two_holders_end_it(clock, told):
    one = Contactor()
    one.take(True, one.next_tick(), "a")
    one.take(True, one.next_tick(), "b")
    assert not one.enabled
    clock[0] += HOLD
    one.take(True, one.next_tick(), "b")
    assert one.enabled
