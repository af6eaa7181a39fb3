"""To tell: reminders for the telephone, what came in for bookings, and the feed of pick-ups."""

from __future__ import annotations

import re
from datetime import date
from typing import TYPE_CHECKING
from urllib.parse import urlencode
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, NotFound, ShopError
from collop.web.forms import Faults, Fields, read_day
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

if TYPE_CHECKING:
    from collop.shop import Reminder

__all__ = ["router"]

router = APIRouter()
_CALENDAR = "text/calendar; charset=utf-8"
#: Pages from which one tap sets aside, and back to which it goes.
_BACK = re.compile(r"/knife/[0-9]{1,10}", re.ASCII)


@router.get("/hook/to-tell", response_class=HTMLResponse)
def show_reminders(request: Request, fields: Queried) -> HTMLResponse:
    """Show what to tell whom about a day and the next open one."""
    return _show(request, fields, Faults())


def _show(
    request: Request, fields: Fields, faults: Faults, *, status: int = 200, trouble: str = ""
) -> HTMLResponse:
    room = room_of(request)
    day = _day(room, fields, faults)
    token = room.shop.promising.feed_token()
    return page(
        request, "reminders.html", status=422 if faults else status, day=day, faults=faults,
        calls=_calls(room.shop.promising.reminders(day)), people=room.shop.people(),
        key=uuid4().hex, trouble=trouble, waiting=room.shop.promising.waiting(),
        feed=None if token is None else f"/calendar/{token}.ics", done=fields.one("done"),
    )  # fmt: skip


def _day(room: Room, fields: Fields, faults: Faults) -> date:
    today = room.now().date()
    if not fields.one("day"):
        return today
    return faults.take("day", lambda: read_day(fields.one("day"), "Day", first=today), today)


def _calls(found: tuple[Reminder, ...]) -> list[list[Reminder]]:
    """Return reminders by booking, in the order they came: one call each."""
    calls: dict[str, list[Reminder]] = {}
    for one in found:
        calls.setdefault(one.booking_id, []).append(one)
    return list(calls.values())


@router.post("/hook/set-aside", response_class=HTMLResponse)
def set_aside(request: Request, fields: Posted) -> Response:
    """Reserve what came in, of all lines or of one, for the bookings that want it."""
    room, faults = room_of(request), Faults()
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _show(request, Fields([]), faults, status=422)
    try:
        found = room.shop.promising.set_aside(
            by=by,
            key=fields.one("key")[:64] or uuid4().hex,
            case_id=fields.one("line")[:40] or None,
        )
    except ShopError as error:
        return _show(request, Fields([]), faults, status=409, trouble=error.message)
    done = "set-aside" if found else "nothing"
    if _BACK.fullmatch(fields.one("back")):
        return RedirectResponse(f"{fields.one('back')}?{urlencode({'by': by})}", status_code=303)
    return RedirectResponse(f"/hook/to-tell?done={done}", status_code=303)


@router.post("/hook/feed", response_class=HTMLResponse)
def new_feed(request: Request, fields: Posted) -> Response:
    """Make a new address for the feed; the old one finds nothing any more."""
    room, faults = room_of(request), Faults()
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return _show(request, Fields([]), faults, status=422)
    try:
        room.shop.promising.new_feed(by=by, key=fields.one("key")[:64] or uuid4().hex)
    except BadValue as error:
        faults.add("by", error.message)
        return _show(request, Fields([]), faults, status=422)
    return RedirectResponse("/hook/to-tell?done=feed", status_code=303)


@router.get("/calendar/{token}.ics")
def show_feed(request: Request, token: str) -> Response:
    """Return the pick-ups to a calendar that knows the token; 404 for any other."""
    try:
        text = room_of(request).shop.promising.feed(token)
    except NotFound as error:
        return Response(error.message + "\n", status_code=404, media_type="text/plain")
    return Response(text, media_type=_CALENDAR)
