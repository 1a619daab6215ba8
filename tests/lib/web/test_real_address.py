"""Where a request comes from: only trusted proxies are believed."""

from __future__ import annotations

from ipaddress import ip_network

import pytest

from shop.lib.web.real_address import sender

TRUSTED = (ip_network("10.0.0.0/8"), ip_network("::1"))


@pytest.mark.parametrize(
    ("peer", "forwarded", "wanted"),
    [
        ("10.0.0.1", "203.0.113.9", "203.0.113.9"),
        ("10.0.0.1", "198.51.100.1, 203.0.113.9", "203.0.113.9"),
        ("10.0.0.1", "203.0.113.9, 10.1.1.1", "203.0.113.9"),
        ("10.0.0.1", "", "10.0.0.1"),
        ("10.0.0.1", "nonsense", "10.0.0.1"),
        ("10.0.0.1", "203.0.113.9, nonsense", "10.0.0.1"),
        ("10.0.0.1", "10.9.9.9, 10.8.8.8", "10.9.9.9"),
        ("203.0.113.9", "10.0.0.5", "203.0.113.9"),
        ("::1", "2001:db8::5", "2001:db8::5"),
        ("::ffff:10.0.0.1", "203.0.113.9", "203.0.113.9"),
        ("", "203.0.113.9", ""),
        ("10.0.0.1", ",".join(["10.0.0.2"] * 100_000), "10.0.0.2"),
    ],
)
def test_the_first_address_that_is_no_trusted_proxy_counts(peer, forwarded, wanted):
    assert sender(peer, forwarded, TRUSTED) == wanted


def test_without_a_proxy_the_header_is_not_believed(client, people):
    client.force_login(people.owner)
    answer = client.get("/", REMOTE_ADDR="203.0.113.9", HTTP_X_FORWARDED_FOR="10.0.0.1")
    assert answer.wsgi_request.META["REMOTE_ADDR"] == "203.0.113.9"
