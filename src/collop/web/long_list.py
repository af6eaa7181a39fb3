"""Long List: weeks across, animals down; and days opened or shut beside the usual ones."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from typing import TYPE_CHECKING
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, ShopError
from collop.measures import decimal_of
from collop.web.forms import Faults, Fields, read_day, read_whole
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

if TYPE_CHECKING:
    from collop.shop import DayChange, LongList

__all__ = ["animals", "router"]

router = APIRouter()
WEEKS, _MOST_WEEKS = 12, 53


def animals(count: Fraction) -> str:
    """Return a number of animals to a tenth, whole ones without a decimal.

    Examples
    --------
    >>> animals(Fraction(3, 2)), animals(Fraction(2)), animals(Fraction(1, 100))
    ('1.5', '2', 'under 0.1')
    """
    if 0 < count < Fraction(1, 20):
        return "under 0.1"
    text = f"{decimal_of(count, 1):f}"
    return text.removesuffix(".0")


@router.get("/long-list", response_class=HTMLResponse)
def show_list(request: Request, fields: Queried) -> HTMLResponse:
    """Show the season sheet from a week on, and the form to open or shut a day."""
    return _show(request, fields, Faults())


@router.post("/long-list/day", response_class=HTMLResponse)
def set_day(request: Request, fields: Posted) -> Response:
    """Open a day for booking, or shut one; whoever is booked on it is named."""
    room, faults = room_of(request), Faults()
    today = room.now().date()
    day = faults.take("day", lambda: read_day(fields.one("day"), "Day", first=today), today)
    by = faults.take("by", lambda: read_who(room, fields), "")
    if not fields.one("why"):
        faults.add("why", "Why: a word or two will do.")
    if faults:
        return _show(request, fields, faults, status=422)
    key = fields.one("key")[:64] or uuid4().hex
    set_to = (
        room.shop.season.close_day if fields.one("do") == "close" else room.shop.season.open_day
    )
    try:
        set_to(day, by=by, why=fields.one("why")[:200], key=key)
    except BadValue as error:
        faults.add(error.where if error.where in {"day", "why"} else "by", error.message)
        return _show(request, fields, faults, status=422)
    except ShopError as error:
        return _show(request, fields, faults, status=409, trouble=error.message)
    return RedirectResponse(f"/long-list?set={day.isoformat()}", status_code=303)


def _show(
    request: Request, fields: Fields, faults: Faults, *, status: int = 200, trouble: str = ""
) -> HTMLResponse:
    room = room_of(request)
    found = _sheet(room, fields, faults)
    first = found.weeks[0].monday
    return page(
        request, "long_list.html", status=422 if faults and status == 200 else status,
        sheet=found, fields=fields, faults=faults, trouble=trouble, animals=animals,
        people=room.shop.people(), key=fields.one("key") or uuid4().hex,
        change=_change(room, fields),
        today=room.now().date(), shut=_next_shut(room), count=len(found.weeks),
        earlier=(first - timedelta(weeks=len(found.weeks))).isoformat(),
        later=(first + timedelta(weeks=len(found.weeks))).isoformat(),
        orders=room.shop.season.expected(),
        names={person.id: person.name for person in room.shop.people()},
    )  # fmt: skip


def _sheet(room: Room, fields: Fields, faults: Faults) -> LongList:
    today = room.now().date()
    week, weeks = today, WEEKS
    if fields.one("week"):
        week = faults.take("week", lambda: _week(fields.one("week")), today)
    if fields.one("weeks"):
        weeks = faults.take(
            "weeks", lambda: read_whole(fields.one("weeks"), "Weeks", 1, _MOST_WEEKS), WEEKS
        )
    try:
        return room.shop.season.long_list(week, weeks=weeks)
    except BadValue as error:
        faults.add("week", error.message)
        return room.shop.season.long_list(weeks=weeks)


def _week(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadValue("From the week of: choose a day.") from None


def _change(room: Room, fields: Fields) -> DayChange | None:
    """Return the day in the address that was opened or shut just now."""
    try:
        day = date.fromisoformat(fields.one("set"))
    except ValueError:
        return None
    return room.shop.season.day(day)


def _next_shut(room: Room) -> date:
    """Return the next day that is shut: the one most likely to be opened."""
    chosen, today = room.shop.settings(), room.now().date()
    days = (today + timedelta(days=ahead) for ahead in range(1, 31))
    return next((day for day in days if not chosen.is_open(day)), today)
