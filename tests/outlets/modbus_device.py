"""The register map of docs/outlets.md on a Modbus server that others wrote (pymodbus)."""

from __future__ import annotations

import logging
import struct

from pymodbus.server import ModbusTcpServer
from pymodbus.simulator import DataType, SimData, SimDevice

READ_INPUT, WRITE_COIL, WRITE_REGISTERS = 4, 5, 16


class Device:
    """Coil and answer together are leave; the coil written off takes it away at once."""

    def __init__(self, contactor, registers):
        self.contactor, self.shown = contactor, registers
        self.on, self.answer = False, [0, 0]

    async def action(self, function, start, address, count, current, given):
        """What a request does: called by the server before it answers."""
        if function == READ_INPUT:
            current[:] = self.shown
        if given is None:  # read, or read back after it was written
            return
        if function == WRITE_REGISTERS and count == 2:
            self.answer = list(given)
        elif function == WRITE_COIL:
            self.on = bool(given[0])
            if not self.on:
                self.contactor.take(False, 0)
        if function in (WRITE_COIL, WRITE_REGISTERS) and self.on:
            self.contactor.take(True, self.answer[0] << 16 | self.answer[1], "modbus")


def fill(registers, tick, state):
    """Show a new tick with the state."""
    status = state["enabled"] | state["closed"] << 1 | 4
    registers[0:3] = [tick >> 16, tick & 0xFFFF, status]
    for place, name in ((3, "watts"), (5, "volts"), (7, "amps")):
        registers[place : place + 2] = struct.unpack(">HH", struct.pack(">f", state[name]))


logging.getLogger("pymodbus").setLevel(logging.CRITICAL)


async def serve(contactor, registers, host, port):
    blocks = (
        [SimData(0, count=1, values=False, datatype=DataType.BITS)],
        [SimData(0, count=1, values=False, datatype=DataType.BITS)],
        [SimData(0, count=2, values=0, datatype=DataType.REGISTERS)],
        [SimData(0, count=9, values=0, datatype=DataType.REGISTERS)],
    )
    device = SimDevice(id=1, simdata=blocks, action=Device(contactor, registers).action)
    await ModbusTcpServer(device, address=(host, port)).serve_forever()
