"""Meters that speak SCPI over a real socket, simulated with sinstruments; the lines are ours."""

from __future__ import annotations

import itertools
from contextlib import contextmanager

from sinstruments.pytest import server_context
from sinstruments.simulator import BaseDevice

IDENTITY = "ORRERY,BM 2,0042,1.0"


class Pulled(Exception):
    """The cable comes out: the server closes the socket."""


class Meter(BaseDevice):
    """Answers each query by what a test puts in `answers`: a text, or one after the other.

    None is no answer; Pulled ends the connection.
    """

    def __init__(self, name, **kwargs):
        super().__init__(name, **kwargs)
        self.answers = {"*IDN?": IDENTITY}
        self.asked = []

    def handle_message(self, message):
        query = message.strip().decode()
        self.asked.append(query)
        answer = self.answers.get(query)
        if isinstance(answer, list):
            self.answers[query] = answer = itertools.chain(answer, itertools.repeat(answer[-1]))
        if hasattr(answer, "__next__"):
            answer = next(answer)
        if answer is Pulled:
            raise Pulled
        return None if answer is None else answer.encode() + b"\n"


@contextmanager
def meter(**answers):
    """Run one; `answers` by the last word of the query: VOLT, DC, TEMP."""
    config = {
        "devices": [
            {
                "name": "meter",
                "class": "Meter",
                "package": __name__,
                "transports": [{"type": "tcp", "url": "127.0.0.1:0"}],
            }
        ]
    }
    with server_context(config) as server:
        device = server.devices["meter"]
        device.resource = f"TCPIP::127.0.0.1::{device.transports[0].address[1]}::SOCKET"
        device.answers |= answers
        yield device
