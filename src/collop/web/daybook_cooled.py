"""An animal that came warm, and what it was read at since."""

from __future__ import annotations

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from collop.errors import BadValue
from collop.reference.rulebook import rule_row
from collop.rules.limits import receiving_limit
from collop.shop.day_cooling import Warm
from collop.web.daybook_form import DayForm, form_of
from collop.web.daybook_write import about, send, to
from collop.web.rendering import page
from collop.web.room import Posted, Queried, room_of

__all__ = ["router"]

router = APIRouter()


@router.get("/daybook/cooled", response_class=HTMLResponse)
def show_cooled(request: Request, fields: Queried) -> HTMLResponse:
    """Show what came warm, by when it must be cold, and the field for what it is."""
    return _show(request, form_of(request, room_of(request), fields))


@router.post("/daybook/cooled", response_class=HTMLResponse)
def write_cooled(request: Request, fields: Posted) -> Response:
    """Write one reading of an animal that came warm."""
    form = form_of(request, room_of(request), fields)
    tag = form.take("tag", _tag, "")
    reading, done_at = form.temperature("reading", "Reading"), form.when()

    def write(by: str, key: str) -> str:
        line = form.room.shop.day.check_cooled(tag, reading, told=form.told(), done_at=done_at,
                                               by=by, key=key)  # fmt: skip
        return to("/daybook/cooled", done=line.id)

    return send(form, ("tag", "reading"), write, lambda **more: _show(request, form, **more))


def _tag(text: str) -> str:
    if not text:
        raise BadValue("Animal: choose which one was read.")
    return text


def _show(request: Request, form: DayForm, *, status: int = 200, trouble: str = "") -> HTMLResponse:
    warm: tuple[Warm, ...] = form.room.shop.day.to_cool()
    return page(
        request, "daybook_cooled.html", status=status, trouble=trouble, warm=warm,
        limit=receiving_limit(form.room.shop.rules.chosen()).temperature,
        source=rule_row("SF002").citation(), **about(request, form),
    )  # fmt: skip
