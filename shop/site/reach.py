"""Where this machine is reached on its network, and the code that a phone scans for it."""

from __future__ import annotations

import io
import re
import socket
from dataclasses import dataclass
from ipaddress import ip_address

import segno

LOCAL = ("127.0.0.1", "localhost", "::1")
EVERYWHERE = ("0.0.0.0", "::")
# An address set aside for documents (RFC 5737): the system says by which way it would go there,
# and nothing is sent.
_ELSEWHERE = ("192.0.2.1", 9)
_NAME = re.compile(r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?")


def network_address() -> str | None:
    """Return the address of this machine on its network; None when it is on none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.connect(_ELSEWHERE)
        except OSError:
            return None
        address = str(way.getsockname()[0])
    return None if ip_address(address).is_loopback else address


def local_name() -> str | None:
    """Return the name under which multicast DNS (RFC 6762) would know this machine."""
    name = socket.gethostname().partition(".")[0].lower()
    return f"{name}.local" if _NAME.fullmatch(name) and name != "localhost" else None


@dataclass(frozen=True, slots=True)
class Place:
    """Where the pages are served: the address that is bound, the port, and whether by https."""

    bind: str
    port: int
    https: bool

    @property
    def on_network(self) -> bool:
        """Whether other machines reach it."""
        return self.bind not in LOCAL

    @property
    def host(self) -> str:
        """The host that a person types."""
        if self.bind in EVERYWHERE:
            return network_address() or "127.0.0.1"
        return self.bind

    @property
    def address(self) -> str:
        """The address that a person types, without a stroke at its end."""
        return self._by(self.host)

    @property
    def inner_address(self) -> str:
        """The address by which this machine reaches itself."""
        return self._by({"0.0.0.0": "127.0.0.1", "::": "::1"}.get(self.bind, self.bind))

    def named_address(self) -> str | None:
        """Return the address with a name in it; passkeys want one, and no number."""
        name = local_name()
        return self._by(name) if name else None

    def _by(self, host: str) -> str:
        shown = f"[{host}]" if ":" in host else host
        return f"{'https' if self.https else 'http'}://{shown}:{self.port}"


def code(text: str) -> str:
    """Return a QR code (ISO/IEC 18004) as characters of a terminal."""
    drawn = io.StringIO()
    segno.make(text, error="m", micro=False).terminal(drawn, compact=True)
    return drawn.getvalue()
