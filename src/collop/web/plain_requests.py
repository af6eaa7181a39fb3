"""Requests as browsers send them: what none of them sends is refused, and HEAD is answered.

References
----------
.. [1] RFC 3986, 2: an address is written in ASCII, all else percent-encoded.
.. [2] RFC 9110, 8.6 (Content-Length is digits), 9.3.2 (HEAD is GET without the content) and
   15.5.1 (400 Bad Request).
"""

from __future__ import annotations

import re

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["HeadAsGet", "ReadableOnly"]

#: Digits that a length can have; a form of this many bytes is refused later as too large.
_LENGTH = re.compile(r"[0-9]{1,18}", re.ASCII)


class ReadableOnly:
    """ASGI middleware: 400 for an address or a length that cannot be read.

    Most servers refuse these themselves; the pages must not depend on which server stands before
    them.

    Parameters
    ----------
    app : callable
        What answers.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it with 400."""
        said = _fault(scope) if scope["type"] == "http" else ""
        if said:
            # how long the body is cannot be told, so nothing may follow on this connection
            refusal = PlainTextResponse(said, 400, headers={"Connection": "close"})
            await refusal(scope, receive, send)
            return
        await self.app(scope, receive, send)


def _fault(scope: Scope) -> str:
    """Return what is wrong with a request in one sentence; empty if it can be read."""
    query: bytes = scope.get("query_string", b"")
    if not query.isascii():
        return "The address could not be read; nothing was done."
    length = Headers(scope=scope).get("content-length")
    if length is not None and not _LENGTH.fullmatch(length):
        return "The length of the form could not be read; nothing was done."
    return ""


class HeadAsGet:
    """ASGI middleware: HEAD is answered as GET is, headers and all, without the content.

    Parameters
    ----------
    app : callable
        What answers.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request."""
        if scope["type"] != "http" or scope["method"] != "HEAD":
            await self.app(scope, receive, send)
            return

        async def send_bare(message: Message) -> None:
            bare = message["type"] == "http.response.body"
            await send({**message, "body": b""} if bare else message)

        await self.app({**scope, "method": "GET"}, receive, send_bare)
