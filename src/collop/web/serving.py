"""The server itself: how long it waits for whom, and how many it lets in.

One machine in the shop's network that opens connections and says nothing, or reads its answer a
byte at a time, must not keep the counter out. A request line and its headers must come within ten
seconds, an answer must be taken within a minute, and one address gets 64 connections (this machine
itself any number).
"""

from __future__ import annotations

import asyncio
import ctypes
import sys
from collections import Counter
from contextlib import suppress
from ipaddress import ip_address
from typing import TYPE_CHECKING, Any, ClassVar

import uvicorn
from uvicorn.protocols.http.h11_impl import H11Protocol

if TYPE_CHECKING:
    from fastapi import FastAPI

__all__ = ["PatientProtocol", "server_for"]

#: Memory that one connection's unread headers may take.
_MOST_HEADER_BYTES = 32 * 1024
_MOST_CONNECTIONS = 800
#: Of the GNU C library (malloc.h): the option of `mallopt` for how many pools threads share.
_M_ARENA_MAX = -8
_POOLS = 2


class PatientProtocol(H11Protocol):
    """HTTP/1.1 over one connection, with an end to every wait."""

    #: Seconds for the request line and headers, from the opening or the end of the last answer.
    HEADERS_S = 10.0
    #: Seconds in which an answer that waits for its reader must have moved.
    READER_S = 60.0
    #: Connections of one address, other than this machine's own.
    MOST_FROM_ONE = 64
    _open: ClassVar[Counter[str]] = Counter()
    _watch: asyncio.TimerHandle | None = None
    _from = ""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Let the connection in, or close it if its address has enough already."""
        super().connection_made(transport)
        self._from = self.client[0] if self.client else ""
        self._open[self._from] += 1
        if self._is_foreign() and self._open[self._from] > self.MOST_FROM_ONE:
            transport.abort()
            return
        self._wait_for_headers()

    def _is_foreign(self) -> bool:
        try:
            return not ip_address(self._from.partition("%")[0]).is_loopback
        except ValueError:
            return False

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget the connection."""
        self._no_watch()
        self._open[self._from] -= 1
        if not self._open[self._from]:
            del self._open[self._from]
        super().connection_lost(exc)

    def handle_events(self) -> None:
        """Stop the wait for headers once a request has come whole."""
        before = self.cycle
        super().handle_events()
        if self.cycle is not before:
            self._no_watch()
            self._watch = self.loop.call_later(self.READER_S, self._look_at_reader, 0)

    def on_response_complete(self) -> None:
        """Wait until the answer was read, then for the next request of the connection."""
        super().on_response_complete()
        # of requests sent in a row the next may be at work by now
        if self.cycle.response_complete:
            self._no_watch()
            self._look_at_reader(0)

    def _wait_for_headers(self) -> None:
        self._no_watch()
        self._watch = self.loop.call_later(self.HEADERS_S, self._no_headers_came)

    def _no_watch(self) -> None:
        if self._watch is not None:
            self._watch.cancel()
            self._watch = None

    def _no_headers_came(self) -> None:
        if not self.transport.is_closing():
            self.transport.abort()

    def _look_at_reader(self, unread_before: int) -> None:
        unread = self.transport.get_write_buffer_size()
        if unread and unread == unread_before:
            self.transport.abort()
        elif unread or not self.cycle.response_complete:
            # an answer that is still being worked out waits for nobody's reading
            self._watch = self.loop.call_later(self.READER_S, self._look_at_reader, unread)
        elif not self.transport.is_closing():
            self._wait_for_headers()


def server_for(app: FastAPI, *, host: str, port: int, **more: Any) -> uvicorn.Server:  # noqa: ANN401 -- uvicorn's own settings
    """Return the server of an application, not yet running.

    Parameters
    ----------
    app : FastAPI
        What answers.
    host, port : str, int
        Address to listen on.
    **more
        Further settings of `uvicorn.Config`, such as ``ssl_certfile``.
    """
    _share_pools()
    config = uvicorn.Config(
        app, host=host, port=port, http=PatientProtocol, ws="none", log_level="warning",
        access_log=False, server_header=False, date_header=True, proxy_headers=False,
        limit_concurrency=_MOST_CONNECTIONS, h11_max_incomplete_event_size=_MOST_HEADER_BYTES,
        **more,
    )  # fmt: skip
    return uvicorn.Server(config)


def _share_pools() -> None:
    """Let threads take memory from two pools: what one gave back, another uses.

    Left alone, the GNU C library gives each thread a pool of its own, up to eight for each core,
    and each keeps what it once needed.
    """
    if sys.platform == "linux":
        with suppress(OSError, AttributeError):  # another C library has no such setting
            ctypes.CDLL(None).mallopt(_M_ARENA_MAX, _POOLS)
