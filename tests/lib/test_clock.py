from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.lib import clock
from shop.preferences import kinds
from shop.site import env
from tests.reminders.when import at


@pytest.mark.parametrize(
    ("start", "hours", "end"),
    [
        ("2026-11-25T09:00", 9, "2026-11-25T18:00"),
        ("2026-11-25T10:00", 9, "2026-11-26T10:00"),
        ("2026-11-25T07:00", 1, "2026-11-25T10:00"),
        ("2026-11-25T20:00", 1, "2026-11-26T10:00"),
        ("2026-11-27T17:00", 2, "2026-11-30T10:00"),  # Friday to Monday
        ("2026-11-28T12:00", 1, "2026-11-30T10:00"),  # Saturday
        ("2026-03-27T17:00", 2, "2026-03-30T10:00"),  # over the night the clocks go forward
        ("2026-10-23T17:00", 2, "2026-10-26T10:00"),  # over the night they go back
        ("2026-11-25T09:00", 90, "2026-12-08T18:00"),
        ("2026-11-25T09:00", 0, "2026-11-25T09:00"),
    ],
)
def test_working_hours_pass_on_working_days(start, hours, end):
    assert clock.after_working_hours(at(start), hours) == at(end)


def test_a_shop_open_through_the_night_the_clocks_change_counts_real_hours(settings):
    settings.WORKDAY_START_HOUR, settings.WORKDAY_END_HOUR = 0, 24
    settings.WORKDAYS = frozenset(range(7))
    # 29 March 2026, 01:00 becomes 02:00: the day has 23 hours.
    assert clock.after_working_hours(at("2026-03-29T00:00"), 23) == at("2026-03-30T00:00")
    assert clock.after_working_hours(at("2026-10-25T00:00"), 25) == at("2026-10-26T00:00")


def test_public_holidays_and_closed_days_do_not_count(settings):
    settings.HOLIDAYS = "DE-BY"
    settings.CLOSED_DAYS = frozenset({date(2026, 12, 28)})
    # 6 January is a holiday in Bavaria, 25 December everywhere, the 28th in this shop.
    assert not clock.open_day(date(2027, 1, 6))
    assert clock.after_working_hours(at("2026-12-24T17:00"), 2) == at("2026-12-29T10:00")
    assert clock.open_day_from(date(2026, 12, 25)) == date(2026, 12, 29)
    settings.HOLIDAYS = "DE-BE"
    assert clock.open_day(date(2027, 1, 6))


def test_working_days_are_those_of_the_shop(settings):
    settings.WORKDAYS = frozenset({1, 2, 3, 4, 5})  # Tuesday to Saturday
    assert clock.after_working_hours(at("2026-11-28T17:00"), 2) == at("2026-12-01T10:00")


def test_open_and_closed(settings):
    assert clock.is_open(at("2026-11-25T09:00"))
    assert not clock.is_open(at("2026-11-25T18:00"))
    assert not clock.is_open(at("2026-11-28T12:00"))
    assert clock.closing_before(at("2026-11-29T12:00")) == at("2026-11-27T18:00")
    assert clock.closing_before(at("2026-11-25T18:00")) == at("2026-11-25T18:00")
    assert clock.opening_after(at("2026-11-27T19:00")) == at("2026-11-30T09:00")
    settings.WORKDAYS = frozenset()
    assert clock.closing_before(at("2026-11-25T12:00")) is None


MOMENTS = st.integers(0, 60 * 24 * 400).map(lambda m: at("2026-01-01T00:00") + timedelta(minutes=m))


@given(MOMENTS, st.integers(1, 3000), st.integers(0, 3000))
def test_working_hours_add_up(start, minutes, more):
    first = clock.after_working_hours(start, minutes / 60)
    both = clock.after_working_hours(start, (minutes + more) / 60)
    apart = abs(clock.after_working_hours(first, more / 60) - both)
    # At closing and at the next opening so many hours have passed alike.
    assert apart < timedelta(seconds=1) or not clock.is_open(min(first, both))


@given(MOMENTS, st.floats(0.01, 60))
def test_it_ends_within_opening_hours_and_never_sooner_than_the_clock(start, hours):
    end = clock.after_working_hours(start, hours)
    assert clock.is_open(end - timedelta(microseconds=1))
    assert (end - start) / timedelta(hours=1) >= hours - 1e-6


@pytest.mark.parametrize(
    ("read", "value", "said"),
    [
        (lambda: env.mail("X"), "http://host", "write smtp"),
        (lambda: env.mail("X"), "smtp://", "write smtp"),
    ],
)
def test_a_calendar_that_makes_no_sense_stops_the_start(monkeypatch, read, value, said):
    monkeypatch.setenv("BENCHTAG_X", value)
    with pytest.raises(env.BadSetting, match=said):
        read()


def test_the_calendar_is_read(monkeypatch):
    assert len(kinds.DAYS.read("2026-12-30..2027-01-02 2027-05-14")) == 5
    assert kinds.WEEKDAYS_OPEN.read("Tue, Sat") == {1, 5}
    monkeypatch.setenv("BENCHTAG_X", "smtp+tls://u%40x:p@mail.example.org")
    found = env.mail("X")
    assert (found["EMAIL_PORT"], found["EMAIL_HOST_USER"]) == (587, "u@x")
    assert found["EMAIL_USE_TLS"] is True
