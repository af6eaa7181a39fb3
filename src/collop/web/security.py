"""Response headers, and refusal of requests that other sites make a browser send.

References
----------
.. [1] W3C, Fetch Metadata Request Headers: ``Sec-Fetch-Site`` is set by the browser and cannot be
   set by a page; ``same-origin`` and ``none`` (typed address) are the shop's own requests.
"""

from __future__ import annotations

from collections.abc import Iterable
from ipaddress import ip_address
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

__all__ = ["KnownHostsOnly", "OwnRequestsOnly", "SafeHeaders"]

_READING = frozenset({"GET", "HEAD", "OPTIONS"})

_POLICY = (
    "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; "
    "form-action 'self'; frame-ancestors 'none'"
)
_HEADERS = {
    "Content-Security-Policy": _POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
}
#: A year; sent over https alone, where a browser heeds it (OWASP ASVS 5.0, 3.4.1).
_HTTPS_ONLY = "max-age=31536000"


class SafeHeaders:
    """ASGI middleware: every response carries the policy headers."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, with the headers added."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        async def send_with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                headers = MutableHeaders(scope=message)
                for name, value in _HEADERS.items():
                    headers.setdefault(name, value)
                headers.setdefault("Cache-Control", "no-store")
                if scope.get("scheme") == "https":
                    headers.setdefault("Strict-Transport-Security", _HTTPS_ONLY)
            await send(message)

        await self.app(scope, receive, send_with_headers)


class KnownHostsOnly:
    """ASGI middleware: the shop answers to addresses in figures, localhost and names it was given.

    A page of another site that has its own name point at this machine (DNS rebinding) would send
    that name; figures cannot be pointed elsewhere.

    Parameters
    ----------
    app : callable
        What answers.
    names : iterable of str
        Further host names, without port.
    """

    def __init__(self, app: ASGIApp, names: Iterable[str] = ()) -> None:
        self.app = app
        self.names = {"localhost", *(name.casefold() for name in names)}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it with 421."""
        if scope["type"] == "http" and not self._is_known(Headers(scope=scope).get("host", "")):
            refusal = PlainTextResponse(
                "This shop is not known by that name; start it with --allow-host NAME.", 421
            )
            await refusal(scope, receive, send)
            return
        await self.app(scope, receive, send)

    def _is_known(self, host: str) -> bool:
        name = ""
        try:
            name = urlsplit(f"//{host}").hostname or ""
            ip_address(name)
        except ValueError:
            return name.casefold() in self.names
        return True


class OwnRequestsOnly:
    """ASGI middleware: what changes the shop must come from the shop's own pages."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or refuse it with 403."""
        if scope["type"] == "http" and scope["method"] not in _READING:
            headers = Headers(scope=scope)
            if not _is_own(headers):
                refusal = PlainTextResponse("This was sent by another site; nothing was done.", 403)
                await refusal(scope, receive, send)
                return
        await self.app(scope, receive, send)


def _is_own(headers: Headers) -> bool:
    site = headers.get("sec-fetch-site")
    if site is not None:
        return site in {"same-origin", "none"}
    origin = headers.get("origin")
    # Neither header: no browser sent it, so no page of another site did.
    try:
        return origin is None or urlsplit(origin).netloc == headers.get("host")
    except ValueError:  # no address at all, such as http://[
        return False
