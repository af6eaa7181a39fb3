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

if TYPE_CHECKING:
    from collop.shop import Trace

__all__ = ["PLACES", "router", "trace_of"]

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
    if booking:
        traces = faults.take("lot", lambda: _of_booking(room, booking), traces)
    elif fields.one("lot"):
        traces = faults.take("lot", lambda: [trace_of(room, fields.one("lot"))], traces)
    return page(
        request, "trace.html", status=404 if faults else 200, faults=faults, traces=traces,
        booking=booking, asked=booking or fields.one("lot"), places=PLACES,
    )  # fmt: skip


def trace_of(room: Room, text: str) -> Trace:
    """Return the trace of a lot as it was scanned, or as it was typed without capitals.

    Raises
    ------
    BadValue
        If there is no such lot, in the shop's own sentence.
    """
    if not text.isprintable():  # a scanner set up wrongly sends control characters
        raise BadValue("Lot: these are not the letters of a lot; scan the ticket again.")
    cutting = room.shop.cutting
    try:
        return cutting.trace(text)
    except NotFound as error:
        told = error.message
    try:
        return cutting.trace(text.upper())
    except NotFound:
        raise BadValue(told) from None


def _booking_asked(room: Room, fields: Fields) -> str:
    """Return the booking asked for; the field takes a booking too, unless a lot has that name."""
    if fields.one("booking"):
        return fields.one("booking").upper()
    text = fields.one("lot").upper()
    if not re.fullmatch(r"H[1-9][0-9]*", text, re.ASCII):
        return ""
    try:
        trace_of(room, text)
    except BadValue:
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
