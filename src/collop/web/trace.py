"""Trace: from any lot left to its animal and farm, right to every other lot of that animal."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.errors import BadValue, NotFound
from collop.web.forms import Faults, Fields
from collop.web.rendering import page
from collop.web.room import Queried, Room, room_of
from collop.web.tickets_scanned import till_instead

if TYPE_CHECKING:
    from collop.shop import FoundTicket, Trace

__all__ = ["PLACES", "router", "trace_of", "traces_of"]

router = APIRouter()
#: Where weight may be, in words.
PLACES = {
    "rail": "on the rail", "block": "on the block", "case": "in the case, free",
    "booked": "in the case, booked", "trim": "in the trim bins", "bone": "bone", "fat": "fat",
    "sold": "sold", "bin": "binned", "drip": "lost to air and drip",
}  # fmt: skip


@router.get("/trace", response_class=HTMLResponse)
def show_trace(request: Request, fields: Queried) -> HTMLResponse:
    """Show the line from a lot to its farm, or one line for each lot of a booking."""
    room = room_of(request)
    faults = Faults()
    booking = _booking_asked(room, fields)
    traces: list[Trace] = []
    text = fields.one("lot")
    if booking:
        traces = faults.take("lot", lambda: _of_booking(room, booking), traces)
    elif text:
        traces = faults.take("lot", lambda: traces_of(room, text), traces)
    till = till_instead(room, text, faults) if faults.of("lot") and not booking else None
    return page(
        request, "trace.html", status=404 if faults else 200, faults=faults, traces=traces,
        booking=booking, asked=booking or text, places=PLACES, ticket=_ticket_asked(text),
        till=till, tickets=_tickets(room, text) if len(traces) == 1 and not booking else (),
    )  # fmt: skip


def traces_of(room: Room, text: str) -> list[Trace]:
    """Return the traces of what was scanned or typed: a lot, a ticket, a mince lot.

    Raises
    ------
    BadValue
        If there is nothing of that name, in the shop's own sentence, or a ticket and a lot were
        scanned that do not belong together.
    """
    if not text.replace("\x1d", "").isprintable():  # a scanner set up wrongly sends others too
        raise BadValue("Lot: these are not the letters of a lot; scan the ticket again.")
    try:
        return list(room.shop.tracing.traces(text))
    except NotFound as error:
        raise BadValue(error.message) from None


def trace_of(room: Room, text: str) -> Trace:
    """Return the trace of the first lot that was scanned or typed; see `traces_of`."""
    return traces_of(room, text)[0]


def _ticket_asked(text: str) -> str:
    """Return the ticket that was asked for, as it is written; empty if it was none."""
    first = text.split(maxsplit=1)[0].upper() if text.strip() else ""
    return first if re.fullmatch(r"T[1-9][0-9]*", first, re.ASCII) else ""


def _tickets(room: Room, text: str) -> tuple[FoundTicket, ...]:
    """Return every ticket of the same source, by number."""
    return room.shop.tracing.recall(text).tickets


def _booking_asked(room: Room, fields: Fields) -> str:
    """Return the booking asked for; the field takes a booking too, unless a lot has that name."""
    if fields.one("booking"):
        return fields.one("booking").upper()
    text = fields.one("lot").upper()
    if not re.fullmatch(r"H[1-9][0-9]*", text, re.ASCII):
        return ""
    try:
        room.shop.cutting.trace(text)
    except NotFound:
        return text
    return ""


def _of_booking(room: Room, booking: str) -> list[Trace]:
    """Return one trace for each lot that a booking holds or took."""
    try:
        # a booking that is not there has no lots; the hook says so in its own words
        found = room.shop.booking(booking)
    except NotFound as error:
        raise BadValue(error.message) from None
    lots = room.shop.cutting.lots_of_booking(found.id)
    return [room.shop.cutting.trace(lot_id) for lot_id in lots]
