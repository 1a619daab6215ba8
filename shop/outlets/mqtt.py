"""An outlet at an MQTT broker (OASIS MQTT 5.0): states are heard, enables are published, none is kept."""

from __future__ import annotations

import contextlib
import ssl
import time
from typing import Any

from shop.outlets.doubts import elapsed
from shop.outlets.links import Heard, NotInstalled
from shop.outlets.messages import answer, read_state
from shop.outlets.models import Outlet

CONNECT_SECONDS = 1.0
# The broker sends the last will after one and a half of it; the outlet's own deadline comes first.
KEEPALIVE_SECONDS = 2
AGAIN_SECONDS = 0.5
# A broker drops an enable that it could not deliver so soon (message expiry interval).
EXPIRY_SECONDS = 1
_SLICE_SECONDS = 0.05


class MqttLink:
    """A connection of its own for one outlet: its last will is about that outlet alone."""

    def __init__(self, outlet: Outlet, password: str, holder: str) -> None:
        self._client, self._properties = _client(outlet, password, holder)
        self._host, self._port = outlet.host, outlet.port
        self._topic, self._holder = outlet.topic, holder
        self._answers = outlet.is_enabled_by_permits
        self._connected = False
        self._again_at = 0.0
        self._heard: Heard | None = None
        self._client.on_connect = self._on_connect
        self._client.on_disconnect = self._on_disconnect
        self._client.on_message = self._on_message

    def listen(self, seconds: float) -> Heard | None:
        """Wait at most so long for the newest state."""
        self._heard, until = None, elapsed() + seconds
        while self._heard is None and elapsed() < until:
            if not self._loop():
                time.sleep(_SLICE_SECONDS)
        while self._heard is not None and self._drained():
            pass
        return self._heard

    def _loop(self) -> bool:
        """Let the client read and write; connect it first where it has to. False: nothing to wait on."""
        if self._client.socket() is None and not self._dial():
            return False
        return self._client.loop(timeout=_SLICE_SECONDS) == 0

    def _drained(self) -> bool:
        """Read on while there is more: the newest state counts."""
        before = self._heard
        self._client.loop(timeout=0)
        return self._heard is not before

    def _dial(self) -> bool:
        now = elapsed()
        if now < self._again_at:
            return False
        self._again_at = now + AGAIN_SECONDS
        try:
            self._client.connect(
                self._host, self._port, keepalive=KEEPALIVE_SECONDS, clean_start=True
            )
        except (OSError, ValueError):
            return False
        return True

    def _on_connect(self, client: Any, data: Any, flags: Any, reason: Any, more: Any) -> None:
        self._connected = not reason.is_failure
        if self._connected:
            client.subscribe(f"{self._topic}/state", qos=0)

    def _on_disconnect(self, *_: Any) -> None:
        self._connected = False

    def _on_message(self, client: Any, data: Any, message: Any) -> None:
        # What the broker kept is old; nobody knows how old.
        if message.retain:
            return
        state = read_state(message.payload)
        if state is not None:
            self._heard = Heard(state, elapsed())

    def answer(self, tick: int, *, enable: bool) -> None:
        """Publish the answer, not retained."""
        if self._connected:
            self._publish(answer(tick, enable=enable, holder=self._holder))
            self._client.loop(timeout=0)

    def _publish(self, payload: bytes) -> None:
        with contextlib.suppress(OSError, ValueError):
            self._client.publish(
                f"{self._topic}/enable", payload, qos=0, retain=False, properties=self._properties
            )

    def close(self) -> None:
        """Withdraw the enable, and hang up."""
        if self._answers:
            self.answer(0, enable=False)
        with contextlib.suppress(OSError, ValueError):
            self._client.disconnect()
            self._client.loop(timeout=0)


def _client(outlet: Outlet, password: str, holder: str) -> tuple[Any, Any]:
    try:
        from paho.mqtt import client as mqtt  # noqa: PLC0415 - an extra
        from paho.mqtt.packettypes import PacketTypes  # noqa: PLC0415
        from paho.mqtt.properties import Properties  # noqa: PLC0415
    except ImportError:
        raise NotInstalled("paho-mqtt") from None
    made = mqtt.Client(
        mqtt.CallbackAPIVersion.VERSION2,
        client_id=f"benchtag-{outlet.pk}-{holder}",
        protocol=mqtt.MQTTv5,
    )
    made.connect_timeout = CONNECT_SECONDS
    if outlet.username:
        made.username_pw_set(outlet.username, password)
    if outlet.tls:
        made.tls_set_context(ssl.create_default_context(cadata=outlet.authority or None))
    if outlet.is_enabled_by_permits:
        will = answer(0, enable=False, holder=holder)
        made.will_set(f"{outlet.topic}/enable", will, qos=1, retain=False)
    properties = Properties(PacketTypes.PUBLISH)
    properties.MessageExpiryInterval = EXPIRY_SECONDS
    return made, properties
