"""A bench outlet made from docs/outlets.md alone: tick, watchdog, contactor that latches.

`python -m tests.outlets.contactor '{"kind": "mqtt", ...}'` takes orders as lines of its standard
input (press, reconnect, end) and prints what happens as lines of JSON, with the moment by the
clock that all processes of a machine share. It knows nothing of the shop.
"""

from __future__ import annotations

import asyncio
import json
import secrets
import sys
import threading
import time
from collections import deque

from paho.mqtt import client as mqtt

from tests.outlets.modbus_device import fill, serve

TICK, HOLD = 0.25, 1.5


def tell(what, at=None, **more):
    line = {"what": what, "at": time.monotonic() if at is None else at, **more}
    sys.stdout.write(json.dumps(line) + "\n")
    sys.stdout.flush()


class Contactor:
    """Held in by leave that ends by its own clock; closed by its button alone. `restores`: a bad one."""

    def __init__(self, *, restores=False):
        self.lock = threading.Condition()
        self.ticks = deque()
        self.restores = restores
        self.leave_until = 0.0
        self.holder = ("", 0.0)
        self.enabled = self.closed = False

    def next_tick(self):
        with self.lock:
            now = time.monotonic()
            self.ticks.append((secrets.randbelow(2**32), now))
            while now - self.ticks[0][1] > HOLD:
                self.ticks.popleft()
            return self.ticks[-1][0]

    def take(self, enable, tick, holder="", *, retained=False):
        """An answer arrives."""
        with self.lock:
            now = time.monotonic()
            if retained:
                return
            if enable is not True:
                self.ticks.clear()
                self._drop(now, now, "told to")
                return
            sent = next((at for one, at in self.ticks if one == tick), None)
            if sent is None or now - sent > HOLD:
                return
            if self.holder[0] != holder and now - self.holder[1] < HOLD:
                self.ticks.clear()
                self._drop(now, now, "two holders")
                return
            self.holder = (holder, now)
            self.leave_until = max(self.leave_until, sent + HOLD)
            tell("leave", now, tick_at=sent)
            if not self.enabled:
                self.enabled = True
                self.closed = self.closed or self.restores
                tell("enabled", now, closed=self.closed)
            self.lock.notify()

    def press(self):
        """The green button, by hand."""
        with self.lock:
            self.closed = self.enabled
            tell("pressed", closed=self.closed)

    def watch(self):
        """The watchdog: opens when leave has ended, however nobody speaks."""
        while True:
            with self.lock:
                now = time.monotonic()
                if self.enabled and now >= self.leave_until:
                    self._drop(now, self.leave_until, "leave ended")
                wait = self.leave_until - now if self.enabled else 1.0
                self.lock.wait(max(0.001, min(wait, 1.0)))

    def _drop(self, now, due, why):
        self.leave_until = 0.0
        if self.enabled:
            self.enabled = self.closed = False
            tell("dropped", now, due=due, why=why)

    def state(self):
        power = {"watts": 42.5, "volts": 230.1, "amps": 0.21} if self.closed else {}
        idle = {"watts": 0.0, "volts": 230.1, "amps": 0.0}
        return {"enabled": self.enabled, "closed": self.closed, **(power or idle)}


def by_mqtt(contactor, given):
    def on_connect(client, _data, _flags, reason, _more):
        if not reason.is_failure:
            client.subscribe(f"{given['topic']}/enable", qos=0)

    def on_message(_client, _data, message):
        try:
            said = json.loads(message.payload)
        except ValueError:
            said = {}
        contactor.take(
            said.get("enable"), said.get("tick"), said.get("holder"), retained=message.retain
        )

    client = mqtt.Client(
        mqtt.CallbackAPIVersion.VERSION2, client_id=given["username"], protocol=mqtt.MQTTv5
    )
    client.username_pw_set(given["username"], given["password"])
    client.tls_set(ca_certs=given["authority"])
    client.on_connect, client.on_message = on_connect, on_message
    client.reconnect_delay_set(0.2, 0.5)
    client.connect_timeout = 1.0
    client.connect_async(given["host"], given["port"], keepalive=2, clean_start=True)
    client.loop_start()

    def tick():
        said = {"tick": contactor.next_tick(), **contactor.state()}
        client.publish(f"{given['topic']}/state", json.dumps(said), qos=0)

    return tick, lambda: client.socket() and client.socket().close()


def by_modbus(contactor, given):
    registers = [0] * 9
    threading.Thread(
        target=lambda: asyncio.run(serve(contactor, registers, given["host"], given["port"])),
        daemon=True,
    ).start()

    def tick():
        fill(registers, contactor.next_tick(), contactor.state())

    return tick, lambda: None


def main():
    given = json.loads(sys.argv[1])
    contactor = Contactor(restores=given.get("restores", False))
    tick, reconnect = (by_mqtt if given["kind"] == "mqtt" else by_modbus)(contactor, given)
    threading.Thread(target=contactor.watch, daemon=True).start()
    threading.Thread(target=_ticking, args=(tick,), daemon=True).start()
    for order in sys.stdin:
        {"press": contactor.press, "reconnect": reconnect}.get(order.strip(), lambda: None)()


def _ticking(tick):
    while True:
        tick()
        time.sleep(TICK)


if __name__ == "__main__":
    main()
