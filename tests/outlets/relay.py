"""Passes bytes on between two ports until told to cut: then it keeps all connections and passes nothing.

`python -m tests.outlets.relay FROM TO`; orders are lines of standard input: cut, mend.
"""

from __future__ import annotations

import asyncio
import contextlib
import sys


class Passing:
    def __init__(self):
        self.open = asyncio.Event()
        self.open.set()

    async def serve(self, reader, writer, port):
        with contextlib.suppress(OSError):
            far_reader, far_writer = await asyncio.open_connection("127.0.0.1", port)
            await asyncio.gather(self._pass(reader, far_writer), self._pass(far_reader, writer))
        writer.close()

    async def _pass(self, reader, writer):
        with contextlib.suppress(OSError):
            while data := await reader.read(4096):
                # As a cable: what was under way comes when it is plugged in again.
                await self.open.wait()
                writer.write(data)
                await writer.drain()
        writer.close()


async def main():
    passing, port = Passing(), int(sys.argv[2])
    await asyncio.start_server(
        lambda reader, writer: passing.serve(reader, writer, port), "127.0.0.1", int(sys.argv[1])
    )
    orders = asyncio.StreamReader()
    protocol = asyncio.StreamReaderProtocol(orders)
    await asyncio.get_running_loop().connect_read_pipe(lambda: protocol, sys.stdin)
    while order := (await orders.readline()).strip():
        passing.open.clear() if order == b"cut" else passing.open.set()


if __name__ == "__main__":
    asyncio.run(main())
