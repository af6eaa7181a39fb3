"""A scan from any page: one address that leads to what the ticket is."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import RedirectResponse

from collop.errors import NotFound
from collop.web.room import Queried, room_of

if TYPE_CHECKING:
    from collop.web.room import Room

__all__ = ["router"]

router = APIRouter()
_LONGEST = 200
_BOOKING = re.compile(r"H[1-9][0-9]{0,8}", re.ASCII)


@router.get("/scan")
def lead_on(request: Request, fields: Queried) -> RedirectResponse:
    """Lead to the slip of a booking, or to the trace of a ticket, a lot or a till code."""
    text = fields.one("code")[:_LONGEST]
    return RedirectResponse(_place_of(room_of(request), text) if text else "/trace", 303)


def _place_of(room: Room, text: str) -> str:
    """Return the address of what was scanned; what nobody knows is told by the trace page."""
    name = text.upper()
    if _BOOKING.fullmatch(name):
        try:
            room.shop.booking(name)
        except NotFound:
            pass
        else:
            return f"/hook/{name}"
    return "/trace?" + urlencode({"lot": text})
