"""Where a request really comes from, behind proxies that the shop trusts."""

from __future__ import annotations

import ipaddress
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from shop.preferences import current as preferences

_MOST_HOPS = 20
Networks = tuple[ipaddress.IPv4Network | ipaddress.IPv6Network, ...]


class RealAddress:
    """Puts the address of the sender in the place of a trusted proxy's; comes first of all."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, with REMOTE_ADDR as limits and records want it."""
        trusted: Networks = preferences.value("trusted_proxies")
        if trusted:
            given = request.headers.get("X-Forwarded-For", "")
            request.META["REMOTE_ADDR"] = sender(request.META["REMOTE_ADDR"], given, trusted)
        return self.get_response(request)


def sender(peer: str, forwarded: str, trusted: Networks) -> str:
    """Return who sent it: going back from the peer, the first address that is no trusted proxy's.

    What a stranger wrote into the header lies behind that one and is not believed; where an
    address cannot be read, the last readable one counts.
    """
    known = peer
    for hop in [peer, *reversed(forwarded.split(",")[-_MOST_HOPS:])]:
        address = _address(hop)
        if address is None:
            return known
        known = str(address)
        if not any(address in network for network in trusted):
            return known
    return known


def _address(text: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    try:
        address = ipaddress.ip_address(text.strip().strip("[]"))
    except ValueError:
        return None
    mapped = getattr(address, "ipv4_mapped", None)
    return mapped or address
