"""A request to an address that a person typed: only where it may go, and never for long.

The name is looked up once, every address that it has must be allowed, and the connection goes to
the very address that was looked at: a name that answers differently the second time (DNS
rebinding) gains nothing. Redirects are not followed.

Sources: RFC 6890 (addresses of special purpose), RFC 4193, RFC 6598, RFC 6052 (64:ff9b::/96), OWASP
Server-Side Request Forgery Prevention. Metadata addresses outside the link-local range: from memory.
"""

from __future__ import annotations

import contextlib
import http.client
import socket
import ssl
import threading
from collections.abc import Mapping
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network
from urllib.parse import SplitResult, urlsplit

PORTS = {"http": 80, "https": 443}
LONGEST_ADDRESS = 500
# For one try: to connect, and for everything.
_CONNECT, _WHOLE = 5.0, 10.0
_KEPT_OF_ANSWER = 300
_METADATA = {ip_address(text) for text in ("fd00:ec2::254", "fd20:ce::254", "100.100.100.200")}
_TRANSLATED = ip_network("64:ff9b::/96")

Address = IPv4Address | IPv6Address


class NotSent(Exception):
    """Nothing was sent, or nothing came back. The message is a sentence."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What came back: the status and the first words of the body."""

    status: int
    words: str


def problem_of(address: str) -> str:
    """Return what is wrong with an address as it is typed; empty when nothing is."""
    if len(address) > LONGEST_ADDRESS:
        return f"the address has {len(address)} letters; at most {LONGEST_ADDRESS} are taken."
    try:
        parts = urlsplit(address)
        known = parts.scheme in PORTS and parts.hostname and parts.port != 0
    except ValueError:
        known = False
    if not known or any(letter.isspace() or not letter.isprintable() for letter in address):
        return f"{address[:80]!r} is no address; write one like https://example.org/hook."
    if parts.username is not None or parts.password is not None:
        return "the address has a name or a password in it; leave them out."
    return ""


def post(address: str, body: bytes, headers: Mapping[str, str], *, private_allowed: bool) -> Answer:
    """Send a body and return the answer, whatever its status; NotSent where there is none."""
    problem = problem_of(address)
    if problem:
        raise NotSent(problem)
    parts = urlsplit(address)
    try:
        return _sent(parts, body, headers, _place(parts, private_allowed))
    except (OSError, http.client.HTTPException, ValueError) as error:
        raise NotSent(f"{type(error).__name__}: {error}"[:300]) from None


def _place(parts: SplitResult, private_allowed: bool) -> str:
    """Return the address to connect to; NotSent when the name has one that is not allowed."""
    port = parts.port or PORTS[parts.scheme]
    try:
        found = socket.getaddrinfo(parts.hostname, port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):
        raise NotSent(f"{parts.hostname} is not known on this network.") from None
    places = [str(one[4][0]) for one in found]
    for place in places:
        why = why_not(ip_address(place.partition("%")[0]), private_allowed=private_allowed)
        if why:
            raise NotSent(f"{parts.hostname} is {place}: {why}")
    return places[0]


def why_not(place: Address, *, private_allowed: bool) -> str:
    """Return why nothing is sent to an address; empty when it may be."""
    for inner in _inside(place):
        if inner.is_link_local or inner in _METADATA:
            return "nothing is sent to link-local addresses, where machines keep their secrets."
        nobody = inner.is_reserved and not inner.is_loopback  # ::1 lies in a reserved block
        if inner.is_multicast or inner.is_unspecified or nobody:
            return "that is the address of no machine."
        if not inner.is_global and not private_allowed:
            return "that is in a private network, which is not allowed for this address."
    return ""


def _inside(place: Address) -> list[Address]:
    """Return the address, or those that are written inside it (RFC 4291, 3056, 4380, 6052)."""
    if isinstance(place, IPv4Address):
        return [place]
    if place in _TRANSLATED:
        return [IPv4Address(int(place) & 0xFFFFFFFF)]
    found = [place.ipv4_mapped, place.sixtofour, *(place.teredo or ())]
    return [one for one in found if one is not None] or [place]


def _sent(parts: SplitResult, body: bytes, headers: Mapping[str, str], place: str) -> Answer:
    port = parts.port or PORTS[parts.scheme]
    lines = [socket.create_connection((place, port), timeout=_CONNECT)]
    # Whoever answers a letter a second is cut off as well.
    clock = threading.Timer(_WHOLE, _cut, [lines])
    clock.start()
    try:
        if parts.scheme == "https":
            _secure(lines, parts.hostname or "")
        connection = http.client.HTTPConnection(parts.hostname or "", port)
        connection.sock = lines[-1]
        target = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
        host = parts.netloc.rpartition("@")[2]
        connection.request("POST", target, body, {**headers, "Host": host, "Connection": "close"})
        answer = connection.getresponse()
        words = answer.read(_KEPT_OF_ANSWER).decode("utf-8", "replace")
        return Answer(answer.status, "".join(c if c.isprintable() else " " for c in words))
    finally:
        clock.cancel()
        lines[-1].close()


def _secure(lines: list[socket.socket], name: str) -> None:
    """Put TLS on the connection; it can be cut off while hands are being shaken, too."""
    context = ssl.create_default_context()
    lines.append(context.wrap_socket(lines[0], server_hostname=name, do_handshake_on_connect=False))
    lines[-1].do_handshake()  # type: ignore[attr-defined]


def _cut(lines: list[socket.socket]) -> None:
    with contextlib.suppress(OSError):
        lines[-1].shutdown(socket.SHUT_RDWR)
