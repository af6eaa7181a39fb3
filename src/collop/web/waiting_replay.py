"""Requests of a device that kept them: when each was done, and in whose hands."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse

from collop.shop.audit_chain import SIGNED_IN
from collop.shop.kept_away import KEPT_AWAY, KeptAway

if TYPE_CHECKING:
    from starlette.types import ASGIApp, Receive, Scope, Send

__all__ = ["HELD_BY", "DoneEarlier", "kept_of", "read_moment"]

#: Says that a request waits on for the hands that kept it.
HELD_BY = "X-Collop-Waits"
_DONE, _DEVICE_NOW, _DEVICE = "x-done-at", "x-device-now", "x-device"
_AS_OF, _BY = "x-as-of", "x-kept-by"
_LONGEST = 40


class DoneEarlier:
    """ASGI middleware: a request with ``X-Done-At`` is of an act that waited on a device.

    It is refused with 409 if somebody else is signed in than who kept it: what one has done does
    not become another's by itself.

    Parameters
    ----------
    app : callable
        What answers.
    """

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, its acts noted as done when the device kept them."""
        kept = None
        if scope["type"] == "http" and scope["method"] == "POST":
            headers = Headers(scope=scope)
            kept = kept_of(headers, datetime.now(UTC))
            person, by = SIGNED_IN.get().person, headers.get(_BY, "")
            if kept and person and by and by != person:
                said = "Somebody else kept this here; it waits until they sign in, or is sent on."
                refusal = PlainTextResponse(said, 409, headers={HELD_BY: "hands"})
                await refusal(scope, receive, send)
                return
        token = KEPT_AWAY.set(kept)
        try:
            await self.app(scope, receive, send)
        finally:
            KEPT_AWAY.reset(token)


def kept_of(headers: Headers, now: datetime) -> KeptAway | None:
    """Return what a device told of an act that waited; None for an act of now.

    Parameters
    ----------
    headers : Headers
        ``X-Done-At``, when it was kept, and ``X-Device-Now``, when it is sent, both by the clock of
        the device with its zone; ``X-Device``, its short name; ``X-As-Of``, the shop time of the
        page it was written on.
    now : datetime
        The server's clock, with a zone, for a device that does not tell its own.
    """
    told = headers.get(_DONE)
    if told is None:
        return None
    done, there = read_moment(told), read_moment(headers.get(_DEVICE_NOW, ""))
    as_of = read_moment(headers.get(_AS_OF, ""))
    # a time that cannot be read is as one that cannot be: noted, never refused
    waited = timedelta(-1)
    if done is not None and done.tzinfo is not None:
        waited = (there if there is not None and there.tzinfo is not None else now) - done
    return KeptAway(waited, headers.get(_DEVICE, "")[:_LONGEST],
                    as_of if as_of is not None and as_of.tzinfo is None else None)  # fmt: skip


def read_moment(text: str) -> datetime | None:
    """Return an ISO time; None for anything else."""
    try:
        return datetime.fromisoformat(text[:_LONGEST])
    except ValueError:
        return None
