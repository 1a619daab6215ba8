"""A reader of iCalendar by RFC 5545 that shares nothing with what writes it."""

from __future__ import annotations

import re

_LINE = re.compile(r"(?P<name>[A-Z0-9-]+)(?P<params>(?:;[A-Z0-9-]+=[^;:]*)*):(?P<value>.*)")
_ESCAPED = re.compile(r"\\([\\;,nN])")
# 3.8.2: the values of the two kinds that we write, a date and a moment in UTC.
DAY, MOMENT = re.compile(r"\d{8}"), re.compile(r"\d{8}T\d{6}Z")


def lines_of(content):
    """Return the content lines, unfolded; 3.1: lines end with CRLF and have at most 75 octets."""
    assert content.endswith(b"\r\n")
    physical = content.removesuffix(b"\r\n").split(b"\r\n")
    assert all(len(line) <= 75 for line in physical)
    assert not any(b"\n" in line or b"\r" in line for line in physical)
    return re.sub(rb"\r\n[ \t]", b"", content).decode().removesuffix("\r\n").split("\r\n")


def read(content):
    """Return the properties of the calendar, and those of each event, texts unescaped."""
    calendar, events, into = {}, [], None
    lines = lines_of(content)
    assert (lines[0], lines[-1]) == ("BEGIN:VCALENDAR", "END:VCALENDAR")
    for line in lines[1:-1]:
        if line == "BEGIN:VEVENT":
            assert into is None
            into = {}
            events.append(into)
        elif line == "END:VEVENT":
            into = None
        else:
            found = _LINE.fullmatch(line)
            assert found, line
            name, value = found["name"], found["value"]
            assert name not in (calendar if into is None else into), f"{name} twice"
            (calendar if into is None else into)[name] = _ESCAPED.sub(
                lambda m: "\n" if m[1] in "nN" else m[1], value
            )
    return calendar, events


def faults(content):
    """Return what 3.6 and 3.6.1 ask of a calendar and its events, and is not so."""
    calendar, events = read(content)
    found = [f"no {name}" for name in ("PRODID", "VERSION") if not calendar.get(name)]
    found += [] if calendar.get("VERSION") == "2.0" else ["VERSION is not 2.0"]
    uids = [event.get("UID") for event in events]
    found += [] if len(set(uids)) == len(uids) and all(uids) else ["a UID twice, or none"]
    for event in events:
        moment = bool(MOMENT.fullmatch(event.get("DTSTART", "")))
        if not (moment or DAY.fullmatch(event.get("DTSTART", ""))):
            found.append(f"DTSTART is {event.get('DTSTART')}")
        if not MOMENT.fullmatch(event.get("DTSTAMP", "")):
            found.append(f"DTSTAMP is {event.get('DTSTAMP')}")
        if "DTEND" in event and "DURATION" in event:
            found.append("DTEND and DURATION")
        if "DTEND" in event and bool(MOMENT.fullmatch(event["DTEND"])) != moment:
            found.append("DTEND is of another kind than DTSTART")
        if "DTEND" in event and event["DTEND"] <= event["DTSTART"]:
            found.append("DTEND is not later")
    return found
