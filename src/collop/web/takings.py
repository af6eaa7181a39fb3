"""The takings of a day: slips, returns, ways of paying; and who pays later."""

from __future__ import annotations

from datetime import date, timedelta

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, Response

from collop.errors import BadValue
from collop.shop.takings_export import takings_csv
from collop.web.forms import Faults, Fields
from collop.web.rendering import page
from collop.web.room import Queried, Room, room_of

__all__ = ["router"]

router = APIRouter()
_WAYS = {"cash": "cash", "card": "card", "other": "other", "account": "put on account"}


def _day(room: Room, fields: Fields) -> date:
    """Read the day; today where none is named."""
    if not fields.one("day"):
        return room.now().date()
    try:
        return date.fromisoformat(fields.one("day"))
    except ValueError:
        raise BadValue("Day: choose a day, written like 2026-06-09.") from None


@router.get("/takings", response_class=HTMLResponse)
def show_takings(request: Request, fields: Queried) -> Response:
    """Show the money of a day."""
    room, faults = room_of(request), Faults()
    today = room.now().date()
    day = faults.take("day", lambda: _day(room, fields), today)
    near = date(1970, 1, 1) < day < date(9000, 1, 1)
    return page(
        request, "takings.html", status=422 if faults else 200, faults=faults, fields=fields,
        takings=room.shop.money.takings(day), accounts=room.shop.money.accounts(), ways=_WAYS,
        today=today, before=day - timedelta(days=1) if near else today,
        after=day + timedelta(days=1) if near else today,
    )  # fmt: skip


@router.get("/takings.csv")
def takings_file(request: Request, fields: Queried) -> Response:
    """Return the money of a day as CSV."""
    room = room_of(request)
    found = room.shop.money.takings(_day(room, fields))
    name = f'attachment; filename="takings-{found.day.isoformat()}.csv"'
    return Response(takings_csv(found), media_type="text/csv; charset=utf-8",
                    headers={"Content-Disposition": name})  # fmt: skip
