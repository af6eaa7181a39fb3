"""Trace: from any lot left to its animal and farm, right to every other lot of that animal."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.errors import BadValue, NotFound
from collop.web.forms import Faults, Fields
from collop.web.rendering import page
from collop.web.room import Queried, Room, room_of

if TYPE_CHECKING:
    from collop.shop import Trace

__all__ = ["PLACES", "Chain", "router"]

router = APIRouter()
#: Where weight may be, in words.
PLACES = {
    "rail": "on the rail", "block": "on the block", "case": "in the case, free",
    "booked": "in the case, booked", "trim": "in the trim bins", "bone": "bone", "fat": "fat",
    "sold": "sold", "bin": "binned", "drip": "lost to air and drip",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Chain:
    """One lot's trace, as the page draws it."""

    trace: Trace

    @property
    def is_known(self) -> bool:
        """Tell whether the lot leads to an animal of a farm."""
        return any(origin.farm for origin in self.trace.origins)


@router.get("/trace", response_class=HTMLResponse)
def show_trace(request: Request, fields: Queried) -> HTMLResponse:
    """Show the line from a lot to its farm, or one line for each lot of a booking."""
    room = room_of(request)
    faults = Faults()
    booking = _booking_asked(room, fields)
    chains: list[Chain] = []
    if booking:
        chains = faults.take("lot", lambda: _of_booking(room, booking), chains)
    elif fields.one("lot"):
        chains = faults.take("lot", lambda: _of_lot(room, fields.one("lot")), chains)
    return page(
        request, "trace.html", status=404 if faults else 200, faults=faults, chains=chains,
        booking=booking, asked=booking or fields.one("lot"), places=PLACES,
    )  # fmt: skip


def _booking_asked(room: Room, fields: Fields) -> str:
    """Return the booking asked for; the field takes a booking too, unless a lot has that name."""
    if fields.one("booking"):
        return fields.one("booking").upper()
    text = fields.one("lot").upper()
    if not re.fullmatch(r"H[1-9][0-9]*", text):
        return ""
    try:
        room.shop.cutting.trace(fields.one("lot"))
    except NotFound:
        return text
    return ""


def _sentence(read: Callable[[], list[Chain]]) -> list[Chain]:
    try:
        return read()
    except NotFound as error:
        raise BadValue(error.message) from None


def _of_lot(room: Room, lot_id: str) -> list[Chain]:
    return _sentence(lambda: [Chain(room.shop.cutting.trace(lot_id))])


def _of_booking(room: Room, booking: str) -> list[Chain]:
    def read() -> list[Chain]:
        # a booking that is not there has no lots; the hook says so in its own words
        found = room.shop.booking(booking)
        lots = room.shop.cutting.lots_of_booking(found.id)
        return [Chain(room.shop.cutting.trace(lot_id)) for lot_id in lots]

    return _sentence(read)
