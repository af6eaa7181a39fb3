"""The paper set: what is printed at opening, sheet by sheet, and what was keyed back of it."""

from __future__ import annotations

from datetime import date, timedelta

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from collop.errors import BadValue
from collop.shop.papers_model import KINDS, sheet_id
from collop.web.forms import Faults, Fields, read_choice, read_day
from collop.web.rendering import page
from collop.web.room import Queried, Room, room_of

__all__ = ["router"]

router = APIRouter()
_PAPERS = {"letter": "US letter", "a4": "A4"}
_SHOWN_DAYS = timedelta(days=7)


@router.get("/papers", response_class=HTMLResponse)
def show_papers(request: Request, fields: Queried) -> HTMLResponse:
    """Show the sheets of a day, each to be printed alone, and the late entries of the week."""
    return _show(request, fields, Faults())


@router.get("/papers/set.pdf")
def show_set(request: Request, fields: Queried) -> Response:
    """Return the set of a day, or one sheet of it, as a PDF file."""
    room, faults = room_of(request), Faults()
    day = _day(room, fields, faults)
    paper = faults.take("paper", lambda: read_choice(
        fields.one("paper", "letter"), "Paper", _PAPERS), "letter")  # fmt: skip
    kind = fields.one("sheet")
    if kind and kind not in KINDS:
        faults.add("day", f"There is no sheet {kind[:20]!r}; choose one below.")
    if faults:
        return _show(request, fields, faults, status=422)
    try:
        data = room.shop.papers.set(day, kinds=[kind] if kind else tuple(KINDS), paper=paper)
    except BadValue as error:
        faults.add("day", error.message)
        return _show(request, fields, faults, status=422)
    name = sheet_id(day, kind, 1) if kind else f"papers-{day.isoformat()}"
    return Response(data, media_type="application/pdf", headers={
        "Content-Disposition": f'inline; filename="{name}.pdf"'})  # fmt: skip


def _day(room: Room, fields: Fields, faults: Faults) -> date:
    today = room.now().date()
    text = fields.one("day")
    if not text:
        return today
    return faults.take("day", lambda: read_day(text, "Day", first=today, days=31), today)


def _show(request: Request, fields: Fields, faults: Faults, *, status: int = 200) -> HTMLResponse:
    room = room_of(request)
    day, today = _day(room, fields, faults), room.now().date()
    return page(
        request, "papers.html", status=status, faults=faults, day=day, today=today, kinds=KINDS,
        papers=_PAPERS, paper=fields.one("paper") if fields.one("paper") in _PAPERS else "letter",
        late=room.shop.papers.late(today - _SHOWN_DAYS, today),
        names={person.id: person.name for person in room.shop.people()},
    )  # fmt: skip
