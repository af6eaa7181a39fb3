"""A form is read whole before anything is done with it: neither too large, nor for ever.

A client that sends its form byte by byte would keep a place of the server for hours; one that
tells no length could send without end. Both are let go of here, before any page sees them.

References
----------
.. [1] RFC 9110, 15.5.9 (408 Request Timeout) and 15.5.14 (413 Content Too Large).
"""

from __future__ import annotations

import asyncio

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["MOST_BYTES", "WholeBodies"]

#: The most a form may hold; a list of a thousand lines has a third of it.
MOST_BYTES = 256 * 1024
_LONGEST_WAIT_S = 20.0
_BODILESS = frozenset({"GET", "HEAD", "OPTIONS"})


class _TooLarge(Exception):
    """More bytes came than a form may hold."""


class _Gone(Exception):
    """The client left before its form was whole."""


class WholeBodies:
    """ASGI middleware: 413 for a form that is too large, 408 for one that does not come.

    Parameters
    ----------
    app : callable
        What answers.
    longest_wait_s : float
        Seconds in which a form must be whole.
    """

    def __init__(self, app: ASGIApp, longest_wait_s: float = _LONGEST_WAIT_S) -> None:
        self.app = app
        self.longest_wait_s = longest_wait_s

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request once its body is whole, or refuse it."""
        if scope["type"] != "http" or scope["method"] in _BODILESS:
            await self.app(scope, receive, send)
            return
        try:
            async with asyncio.timeout(self.longest_wait_s):
                body = await _whole(receive, told=Headers(scope=scope).get("content-length", ""))
        except _Gone:
            return
        except _TooLarge:
            await _refuse(scope, receive, send, "The form is too large; nothing was done.", 413)
            return
        except TimeoutError:
            said = "The form did not come in time; nothing was done. Send it again."
            await _refuse(scope, receive, send, said, 408)
            return
        await self.app(scope, _again(body, receive), send)


async def _whole(receive: Receive, *, told: str) -> bytes:
    if told.isdigit() and int(told) > MOST_BYTES:
        raise _TooLarge
    body = bytearray()
    while True:
        message = await receive()
        if message["type"] != "http.request":
            raise _Gone
        body += message.get("body", b"")
        if len(body) > MOST_BYTES:
            raise _TooLarge
        if not message.get("more_body", False):
            return bytes(body)


def _again(body: bytes, receive: Receive) -> Receive:
    """Return what hands the body out once, and then waits as the server does."""
    waiting: list[Message] = [{"type": "http.request", "body": body, "more_body": False}]

    async def again() -> Message:
        return waiting.pop() if waiting else await receive()

    return again


async def _refuse(scope: Scope, receive: Receive, send: Send, said: str, status: int) -> None:
    # the rest of the body is never read, so the connection cannot be used for another request
    refusal = PlainTextResponse(said, status, headers={"Connection": "close"})
    await refusal(scope, receive, send)
