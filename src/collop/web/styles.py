"""The shop's cutting styles: starting shares beside what its own breaks made of them."""

from __future__ import annotations

from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.carcass import PIECES
from collop.errors import BadValue, ShopError
from collop.web.forms import Faults, Fields, read_choice
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Queried, room_of

__all__ = ["router"]

router = APIRouter()
_KINDS = {"cut": "cut", "trim": "trim", "fat": "fat", "bone": "bone", "fat_bone": "fat and bone",
          "scrap": "scrap", "loss": "loss"}  # fmt: skip


@router.get("/styles", response_class=HTMLResponse)
def show_styles(request: Request, fields: Queried) -> Response:
    """Show every style with its shares, and a form to take starting figures over."""
    done = "The style is there. Weigh your own breaks: they move its shares."
    return _show(request, fields, Faults(), done=done if fields.one("done") else "")


@router.post("/styles", response_class=HTMLResponse)
def adopt(request: Request, fields: Posted) -> Response:
    """Take the starting figures of a piece over as a style of the shop."""
    room, faults = room_of(request), Faults()
    titles = [piece.title for piece in PIECES]
    piece = faults.take("piece", lambda: read_choice(fields.one("piece"), "Piece", titles), "")
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _show(request, fields, faults, status=422)
    try:
        room.shop.cutting.adopt_style(piece, by=by, key=fields.one("key")[:64] or uuid4().hex)
    except BadValue as error:
        faults.add("piece", error.message)
        return _show(request, fields, faults, status=422)
    except ShopError as error:
        faults.add("piece", error.message)
        return _show(request, fields, faults, status=409)
    return RedirectResponse("/styles?done=yes", status_code=303)


def _show(
    request: Request, fields: Fields, faults: Faults, *, status: int = 200, done: str = ""
) -> HTMLResponse:
    cutting = room_of(request).shop.cutting
    lines = {line.id: line.name for line in room_of(request).shop.case()}
    return page(
        request, "styles.html", status=status, form=fields, faults=faults, key=uuid4().hex,
        done=done, people=room_of(request).shop.people(), pieces=[one.title for one in PIECES],
        found=[cutting.own_yields(style.id) for style in cutting.styles()], kinds=_KINDS,
        lines=lines,
    )  # fmt: skip
