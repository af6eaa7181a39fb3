"""The bench list on paper: one page in black and white, with boxes to write in."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.web.bench import list_context
from collop.web.rendering import page
from collop.web.room import Queried, room_of

__all__ = ["router"]

router = APIRouter()
# lines a day brings after the list was printed
_EMPTY_LINES = 3


@router.get("/bench/paper", response_class=HTMLResponse)
def show_paper(request: Request, fields: Queried) -> HTMLResponse:
    """Show the list as it prints; with ``print=1`` the printer's own window opens at once."""
    room = room_of(request)
    return page(
        request, "bench_paper.html", place=room.shop.settings().place, empty=_EMPTY_LINES,
        wants_print=fields.one("print") == "1", **list_context(request, room.shop.bench.lines()),
    )  # fmt: skip
