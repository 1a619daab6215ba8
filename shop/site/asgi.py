"""The application as the server runs it: requests are taken in whole before a thread is spent on them.

A request that stops half-way holds no thread and ends by itself. Mains has a way of its own:
threads that nothing else uses, so that "mains is off" is answered whatever else goes on.
"""

from __future__ import annotations

import asyncio
import json
import re
from collections.abc import Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor
from tempfile import SpooledTemporaryFile
from typing import IO, Any

from asgiref.sync import AsyncToSync, sync_to_async
from asgiref.wsgi import WsgiToAsgi, WsgiToAsgiInstance
from django.conf import settings

from shop.site.wsgi import application as pages

THREADS, THREADS_FOR_MAINS = 4, 2
# Between two pieces of a body; and for all of it, a picture over a bad line included.
SECONDS_FOR_A_PIECE, SECONDS_FOR_ALL = 10.0, 300.0
_IN_MEMORY = 64 * 1024
_MAINS = re.compile(r"(/api/v1)?/jobs/\d+/power/?")

Message = dict[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]


class Unanswerable(Exception):
    """A request that is not taken in: the status, and a sentence; none for one that hung up."""

    def __init__(self, status: int, sentence: str) -> None:
        self.status = status
        super().__init__(sentence)


class _OnThreads(WsgiToAsgiInstance):
    """One request, whose body is here already, answered on the threads of a pool."""

    def __init__(self, app: Any, scope: Message, send: Send, pool: ThreadPoolExecutor) -> None:
        super().__init__(app)
        self.scope, self._pool = scope, pool

        # The server's own callable is not marked as what it is.
        async def sending(message: Message) -> None:
            await send(message)

        self.sync_send = AsyncToSync(sending)

    async def answer(self, body: IO[bytes]) -> None:
        """Run the pages on a thread of the pool."""
        # The plain function below the library's own choice of a thread, which is one for all.
        run = WsgiToAsgiInstance.__dict__["run_wsgi_app"].func.__get__(self)
        await sync_to_async(run, thread_sensitive=False, executor=self._pool)(body)


class Guarded(WsgiToAsgi):
    """Takes each request in whole, within its time and size, and hands it to the right threads."""

    def __init__(self, app: Any, *, largest: int) -> None:
        super().__init__(app)
        self.largest = largest
        self.usual = ThreadPoolExecutor(THREADS, "pages")
        self.for_mains = ThreadPoolExecutor(THREADS_FOR_MAINS, "mains")

    async def __call__(self, scope: Message, receive: Receive, send: Send) -> None:
        """Answer one request."""
        with SpooledTemporaryFile(max_size=_IN_MEMORY) as body:
            try:
                async with asyncio.timeout(SECONDS_FOR_ALL):
                    await self._take_in(receive, body)
            except TimeoutError:
                await _refuse(send, 408, "The request did not arrive in time; send it again.")
            except Unanswerable as why:
                await _refuse(send, why.status, str(why))
            else:
                await _OnThreads(self.wsgi_application, scope, send, self._threads(scope)).answer(
                    body
                )

    async def _take_in(self, receive: Receive, body: IO[bytes]) -> None:
        taken = 0
        while True:
            message = await asyncio.wait_for(receive(), SECONDS_FOR_A_PIECE)
            if message["type"] == "http.disconnect":
                raise Unanswerable(0, "")
            piece = message.get("body", b"")
            taken += len(piece)
            if taken > self.largest:
                raise Unanswerable(
                    413, f"The request is larger than {self.largest >> 20} MB; send less."
                )
            body.write(piece)
            if not message.get("more_body"):
                body.seek(0)
                return

    def _threads(self, scope: Message) -> ThreadPoolExecutor:
        about_mains = scope["method"] == "POST" and _MAINS.fullmatch(scope["path"])
        return self.for_mains if about_mains else self.usual


async def _refuse(send: Send, status: int, sentence: str) -> None:
    if not status:
        return  # nobody is there any more
    headers = [(b"content-type", b"application/json"), (b"connection", b"close")]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": json.dumps({"reason": sentence}).encode()})


# Room above the limit of Django's own, whose sentence is the better one.
application = Guarded(pages, largest=settings.UPLOAD_LARGEST + 16 * 1024 * 1024)


def served() -> Guarded:
    """Return the application; end the process when the database does not guard itself."""
    # Its models can be read only once the pages above have set Django up.
    from shop.site import start  # noqa: PLC0415

    start.require_sound()
    return application
