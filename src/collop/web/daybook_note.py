"""A word in the Day Book, by itself or on a line that is there."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from collop.web.daybook_form import DayForm, form_of
from collop.web.daybook_write import about, send, to
from collop.web.rendering import page
from collop.web.room import Posted, Queried, room_of

__all__ = ["router"]

router = APIRouter()


@router.get("/daybook/note", response_class=HTMLResponse)
def show_note(request: Request, fields: Queried) -> HTMLResponse:
    """Show the field for a word, and the line it is on."""
    return _show(request, form_of(request, room_of(request), fields, kept=("line",)))


@router.post("/daybook/note", response_class=HTMLResponse)
def write_note(request: Request, fields: Posted) -> Response:
    """Write a word in the book."""
    form = form_of(request, room_of(request), fields)
    done_at = form.when()

    def write(by: str, key: str) -> str:
        line = form.room.shop.day.note(
            fields.one("text"), line=fields.one("line"), done_at=done_at, by=by, key=key
        )
        return to("/daybook", day=f"{line.done_at:%Y-%m-%d}")

    return send(form, ("text", "line"), write, lambda **more: _show(request, form, **more))


def _show(request: Request, form: DayForm, *, status: int = 200, trouble: str = "") -> HTMLResponse:
    return page(
        request, "daybook_note.html", status=status, trouble=trouble, **about(request, form)
    )
