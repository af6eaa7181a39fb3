"""What a released booking left in the case, and the moves for it."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from collop.web.rendering import page
from collop.web.room import room_of

__all__ = ["router"]

router = APIRouter()
#: What the screen calls a move.
WAYS = {"booking": "Suits a booking", "feature": "In front of the case", "mark-down": "Mark down",
        "freeze": "Freeze as portions", "mince": "Bone and mince"}  # fmt: skip


@router.get("/hook/{booking_id}/re-home", response_class=HTMLResponse)
def show_rehoming(request: Request, booking_id: str) -> Response:
    """Show what came back, its value, until when, and the moves, most money first."""
    room = room_of(request)
    booking = room.shop.booking(booking_id)
    found = room.shop.pickup.rehome(booking_id)
    return page(request, "rehome.html", booking=booking, found=found, ways=WAYS)
