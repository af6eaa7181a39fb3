"""Work for a reader who has left is stopped: the plan nobody waits for takes no turn from others.

Only where nothing is written before the work is done: a page that is read, the answer to an ask,
a new cutting plan. What writes goes on to its end, whoever left: half a sale is none.

References
----------
.. [1] ASGI specification 2.3, HTTP: ``http.disconnect`` is received once the client has left
   (from memory).
"""

from __future__ import annotations

import asyncio
import threading
from contextlib import suppress

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from collop.solver import stoppable

__all__ = ["StopWithReader", "may_stop"]

_READING = frozenset({"GET", "HEAD"})
#: Forms that write nothing before their work is done.
_WORKED_OUT = frozenset({"/ask/spread", "/bench/plan"})
_LEFT: Message = {"type": "http.disconnect"}


def may_stop(method: str, path: str) -> bool:
    """Return whether nothing of a request is written while it is worked out."""
    return method in _READING or path in _WORKED_OUT


class StopWithReader:
    """ASGI middleware: the kernels' work ends with the reader who waits for it.

    It stands inside what reads a form whole, so that what it hears is the answer's reader alone.

    Parameters
    ----------
    app : callable
        What answers.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request for as long as somebody waits for it."""
        if scope["type"] != "http" or not may_stop(scope["method"], scope["path"]):
            await self.app(scope, receive, send)
            return
        heard: asyncio.Queue[Message] = asyncio.Queue()
        has_left = threading.Event()

        async def listen() -> None:
            while not has_left.is_set():
                message = await receive()
                if message["type"] == "http.disconnect":
                    has_left.set()
                heard.put_nowait(message)

        async def told() -> Message:
            return _LEFT if has_left.is_set() and heard.empty() else await heard.get()

        listening = asyncio.create_task(listen())
        try:
            with stoppable(has_left.is_set):
                await self.app(scope, told, send)
        finally:
            listening.cancel()
            with suppress(asyncio.CancelledError):
                await listening
