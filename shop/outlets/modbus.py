"""An outlet by Modbus TCP (Modbus Application Protocol V1.1b3): a coil, and the register that watches it.

The map counts from the outlet's first register (docs/outlets.md). Each exchange has a deadline;
after one that failed the connection is made anew, so that no late answer is taken for another.
"""

from __future__ import annotations

import contextlib
import logging
import math
import struct
import time
from typing import Any

from shop.outlets.doubts import elapsed
from shop.outlets.links import Heard, NotInstalled
from shop.outlets.messages import TICK_SECONDS, State, figure
from shop.outlets.models import Outlet

EXCHANGE_SECONDS = 0.4
AGAIN_SECONDS = 0.5
# Input registers: tick (2), status, and watts, volts, amperes as IEEE 754 floats (2 each).
REGISTERS = 9
_ENABLED, _CLOSED, _MEASURES = 1, 2, 4


class ModbusLink:
    """A connection to one outlet; asks it for its tick a little more often than it makes one."""

    def __init__(self, outlet: Outlet) -> None:
        self._client = _client(outlet)
        self._unit, self._first = outlet.unit, outlet.first_register
        self._answers = outlet.is_enabled_by_permits
        self._again_at = self._next = 0.0
        self._tick: int | None = None

    def listen(self, seconds: float) -> Heard | None:
        """Ask for the state until it has a new tick, at most so long."""
        until = elapsed() + seconds
        while (now := elapsed()) < until:
            time.sleep(max(0.0, min(self._next, until) - now))
            self._next = elapsed() + TICK_SECONDS / 2
            heard = self._asked()
            if heard is not None and heard.state.tick != self._tick:
                self._tick = heard.state.tick
                return heard
        return None

    def _asked(self) -> Heard | None:
        if not self._dialled():
            return None
        # It was made before it was read: counted from then, no answer is late unseen.
        began = elapsed()
        read = self._exchanged(
            lambda client: client.read_input_registers(
                self._first, count=REGISTERS, device_id=self._unit
            )
        )
        return Heard(state_of(read.registers), began) if read else None

    def answer(self, tick: int, *, enable: bool) -> None:
        """Write the answer, then the coil; to take leave away, the coil alone."""
        if not self._dialled():
            return
        if enable and not self._exchanged(
            lambda client: client.write_registers(
                self._first, [tick >> 16, tick & 0xFFFF], device_id=self._unit
            )
        ):
            return
        self._exchanged(lambda client: client.write_coil(self._first, enable, device_id=self._unit))

    def close(self) -> None:
        """Withdraw the enable, and hang up."""
        if self._answers:
            self.answer(0, enable=False)
        self._client.close()

    def _dialled(self) -> bool:
        if self._client.connected:
            return True
        now = elapsed()
        if now < self._again_at:
            return False
        self._again_at = now + AGAIN_SECONDS
        with contextlib.suppress(OSError):
            return bool(self._client.connect())
        return False

    def _exchanged(self, ask: Any) -> Any:
        """Return the answer; None where there is none or it is an exception, and the line is cut."""
        from pymodbus.exceptions import ModbusException  # noqa: PLC0415 - an extra

        try:
            said = ask(self._client)
        except (ModbusException, OSError):
            self._client.close()
            return None
        return None if said.isError() else said


def state_of(registers: list[int]) -> State:
    """Return the state that nine input registers hold; a float that is none is not told."""
    tick = registers[0] << 16 | registers[1]
    status = registers[2]
    figures = [_float(registers[n : n + 2]) if status & _MEASURES else None for n in (3, 5, 7)]
    watts, volts, amps = figures
    return State(
        tick=tick,
        watts=watts,
        volts=volts,
        amps=amps,
        enabled=bool(status & _ENABLED),
        closed=bool(status & _CLOSED),
    )


def _float(pair: list[int]) -> float | None:
    (value,) = struct.unpack(">f", struct.pack(">HH", *pair))
    return None if math.isnan(value) else figure(value)


def _client(outlet: Outlet) -> Any:
    try:
        from pymodbus.client import ModbusTcpClient  # noqa: PLC0415 - an extra
    except ImportError:
        raise NotInstalled("pymodbus") from None
    # Each lost exchange would be a line of the log, several times a second.
    logging.getLogger("pymodbus").setLevel(logging.CRITICAL)
    return ModbusTcpClient(
        outlet.host, port=outlet.port, timeout=EXCHANGE_SECONDS, retries=0, name="benchtag"
    )
