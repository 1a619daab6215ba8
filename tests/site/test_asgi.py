"""What stands before the pages: half-sent requests hold nothing, and mains has a way of its own."""

from __future__ import annotations

import asyncio
import json
import threading

import pytest

from shop.site import asgi
from shop.site.asgi import Guarded


def _scope(path: str, method: str = "POST") -> asgi.Message:
    return {
        "type": "http",
        "method": method,
        "path": path,
        "query_string": b"",
        "http_version": "1.1",
        "headers": [(b"host", b"bench")],
    }


def _pages(environ, start_response):
    body = environ["wsgi.input"].read()
    start_response("200 OK", [("Content-Type", "text/plain")])
    return [environ["PATH_INFO"].encode(), b" ", str(len(body)).encode()]


class Client:
    """One request whose pieces arrive when the test says."""

    def __init__(self, *pieces: asgi.Message) -> None:
        self.pieces, self.sent = list(pieces), []

    async def receive(self) -> asgi.Message:
        if not self.pieces:
            await asyncio.sleep(60)
        return self.pieces.pop(0)

    async def send(self, message: asgi.Message) -> None:
        self.sent.append(message)

    @property
    def answer(self) -> tuple[int, bytes]:
        body = b"".join(m.get("body", b"") for m in self.sent[1:])
        return self.sent[0]["status"], body


def _piece(body: bytes, *, more: bool) -> asgi.Message:
    return {"type": "http.request", "body": body, "more_body": more}


def _run(app: Guarded, client: Client, path: str) -> None:
    asyncio.run(app(_scope(path), client.receive, client.send))


def test_a_request_in_pieces_arrives_whole():
    client = Client(_piece(b"ab", more=True), _piece(b"c", more=False))
    _run(Guarded(_pages, largest=100), client, "/jobs/")
    assert client.answer == (200, b"/jobs/ 3")


def test_half_a_request_is_ended_with_a_sentence(monkeypatch):
    monkeypatch.setattr(asgi, "SECONDS_FOR_A_PIECE", 0.05)
    client = Client(_piece(b"a", more=True))
    _run(Guarded(_pages, largest=100), client, "/jobs/1/power/")
    status, body = client.answer
    assert status == 408
    assert "did not arrive in time" in json.loads(body)["reason"]


def test_one_that_drips_is_ended_as_a_whole(monkeypatch):
    monkeypatch.setattr(asgi, "SECONDS_FOR_ALL", 0.1)

    class Dripping(Client):
        async def receive(self):
            await asyncio.sleep(0.02)
            return _piece(b"a", more=True)

    client = Dripping()
    _run(Guarded(_pages, largest=10**6), client, "/")
    assert client.answer[0] == 408


def test_one_that_is_too_large_is_told_so():
    client = Client(_piece(b"a" * 101, more=True))
    _run(Guarded(_pages, largest=100), client, "/")
    assert client.answer[0] == 413


def test_nobody_is_answered_who_hung_up():
    client = Client(_piece(b"a", more=True), {"type": "http.disconnect"})
    _run(Guarded(_pages, largest=100), client, "/")
    assert client.sent == []


@pytest.mark.parametrize("path", ["/jobs/7/power/", "/api/v1/jobs/7/power/"])
def test_mains_is_answered_while_every_other_thread_is_held(path):
    held, free = threading.Barrier(asgi.THREADS + 1), threading.Event()

    def pages(environ, start_response):
        if "power" not in environ["PATH_INFO"]:
            held.wait(10)
            free.wait(10)
        return _pages(environ, start_response)

    async def all_at_once():
        app = Guarded(pages, largest=100)
        others = [Client(_piece(b"", more=False)) for _ in range(3 * asgi.THREADS)]
        waiting = [asyncio.create_task(app(_scope("/sign-in/"), c.receive, c.send)) for c in others]
        await asyncio.to_thread(held.wait, 10)
        client = Client(_piece(b"to=isolated", more=False))
        await asyncio.wait_for(app(_scope(path), client.receive, client.send), 5)
        held.abort()
        free.set()
        await asyncio.gather(*waiting, return_exceptions=True)
        return client

    assert asyncio.run(all_at_once()).answer[0] == 200
