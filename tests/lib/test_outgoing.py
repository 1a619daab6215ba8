"""Where a typed address may lead: the ranges of RFC 6890, and what a name must not do."""

from __future__ import annotations

import http.server
import socket
import threading
import time
from ipaddress import ip_address

import pytest

from shop.lib import outgoing
from shop.lib.outgoing import NotSent, post, problem_of, why_not

PUBLIC = ["8.8.8.8", "2001:4860:4860::8888", "64:ff9b::808:808"]
PRIVATE = [
    "10.1.2.3",
    "172.16.0.1",
    "192.168.1.5",
    "127.0.0.1",
    "::1",
    "fd12:3456::1",
    "100.64.0.9",
]
PRIVATE += ["::ffff:192.168.1.5", "64:ff9b::c0a8:105", "2002:c0a8:105::1"]
NEVER = ["169.254.169.254", "169.254.1.1", "fe80::1", "fd00:ec2::254", "100.100.100.200"]
NEVER += ["::ffff:169.254.169.254", "64:ff9b::a9fe:a9fe", "2002:a9fe:a9fe::1"]
NEVER += ["0.0.0.0", "::", "224.0.0.1", "ff02::1", "255.255.255.255", "240.0.0.1"]


@pytest.mark.parametrize("allowed", [True, False])
def test_public_addresses_always(allowed):
    assert [p for p in PUBLIC if why_not(ip_address(p), private_allowed=allowed)] == []


def test_private_addresses_when_the_owner_says_so():
    assert [p for p in PRIVATE if why_not(ip_address(p), private_allowed=True)] == []
    assert [p for p in PRIVATE if not why_not(ip_address(p), private_allowed=False)] == []


@pytest.mark.parametrize("allowed", [True, False])
def test_secrets_of_machines_never(allowed):
    assert [p for p in NEVER if not why_not(ip_address(p), private_allowed=allowed)] == []


@pytest.mark.parametrize(
    "address",
    [
        "", "example.org", "ftp://example.org/", "file:///etc/passwd", "gopher://x/", "//x",
        "http://", "http:///x", "http://a b/", "http://x/\r\nHost: y", "http://u:p@example.org/",
        "http://[::1", "http://x:99999/", "https://x/" + "y" * 500, "javascript:alert(1)",
    ],
)  # fmt: skip
def test_what_is_no_address(address):
    assert problem_of(address)
    with pytest.raises(NotSent):
        post(address, b"", {}, private_allowed=True)


def test_what_is_one():
    good = ["http://192.168.1.5:8080/x?y=1", "https://example.org", "https://größe.example/"]
    assert [a for a in good if problem_of(a)] == []


class Receiver(http.server.BaseHTTPRequestHandler):
    def do_POST(self):
        self.server.got.append(
            (self.path, dict(self.headers), self.rfile.read(int(self.headers["Content-Length"])))
        )
        self.send_response(self.server.status)
        self.send_header("Location", f"http://127.0.0.1:{self.server.server_port}/elsewhere")
        self.end_headers()
        self.wfile.write(b"thanks\x00" + b"!" * 1000)

    def log_message(self, *args):
        pass


@pytest.fixture
def server():
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Receiver)
    server.got, server.status = [], 200
    server.address = f"http://127.0.0.1:{server.server_port}/hook?a=1"
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield server
    server.shutdown()
    server.server_close()


def test_what_is_sent_arrives(server):
    answer = post(server.address, b"{}", {"X-Of": "bench"}, private_allowed=True)
    assert (answer.status, answer.words[:8], len(answer.words)) == (200, "thanks !", 300)
    [(path, headers, body)] = server.got
    assert (path, headers["X-Of"], body) == ("/hook?a=1", "bench", b"{}")
    assert headers["Host"] == f"127.0.0.1:{server.server_port}"


def test_nothing_reaches_a_private_address_without_leave(server):
    with pytest.raises(NotSent, match="private network"):
        post(server.address, b"{}", {}, private_allowed=False)
    assert server.got == []


def test_a_redirect_is_not_followed(server):
    server.status = 307
    assert post(server.address, b"{}", {}, private_allowed=True).status == 307
    assert len(server.got) == 1


def test_one_address_of_a_name_is_enough_to_refuse(server, monkeypatch):
    found = [(socket.AF_INET, 1, 6, "", (ip, 80)) for ip in ("8.8.8.8", "169.254.169.254")]
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_, **__: found)
    with pytest.raises(NotSent, match="link-local"):
        post("http://two.example/", b"", {}, private_allowed=True)


def test_the_name_is_looked_up_once(server, monkeypatch):
    """What answers differently the second time is not asked a second time."""
    asked, real = [], socket.getaddrinfo

    def once(host, port, *more, **named):
        if host == "changing.example":
            asked.append(host)
            host = "127.0.0.1" if len(asked) == 1 else "169.254.169.254"
        return real(host, port, *more, **named)

    monkeypatch.setattr(socket, "getaddrinfo", once)
    address = f"http://changing.example:{server.server_port}/"
    assert post(address, b"", {"Content-Length": "0"}, private_allowed=True).status == 200
    assert asked == ["changing.example"]
    assert server.got[0][1]["Host"].startswith("changing.example:")


def test_nobody_there_is_a_sentence():
    with socket.socket() as closed:
        closed.bind(("127.0.0.1", 0))
        with pytest.raises(NotSent, match="refused"):
            post(f"http://127.0.0.1:{closed.getsockname()[1]}/", b"", {}, private_allowed=True)


@pytest.mark.parametrize("scheme", ["http", "https"])
def test_whoever_never_finishes_is_cut_off(monkeypatch, scheme):
    monkeypatch.setattr(outgoing, "_WHOLE", 0.5)
    with socket.create_server(("127.0.0.1", 0)) as slow:

        def drip():
            line, _ = slow.accept()
            with line:
                for _ in range(600):
                    try:
                        line.sendall(b"H" if scheme == "http" else b"\x16")
                    except OSError:
                        return
                    time.sleep(0.05)

        thread = threading.Thread(target=drip, daemon=True)
        thread.start()
        address = f"{scheme}://127.0.0.1:{slow.getsockname()[1]}/"
        with pytest.raises(NotSent):
            post(address, b"", {}, private_allowed=True)
        # It hung up on us, long before it had said all.
        thread.join(20)
        assert not thread.is_alive()
