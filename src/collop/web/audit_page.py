"""The log: who did what, on which day and device, and whether its seals hold."""

from __future__ import annotations

from datetime import date, timedelta
from typing import TYPE_CHECKING
from urllib.parse import urlencode

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from collop.errors import CollopError, NotFound, StorageTrouble
from collop.web.forms import Faults, Fields, read_near_day
from collop.web.rendering import page
from collop.web.room import Queried, Room, room_of

if TYPE_CHECKING:
    from collop.shop.access_model import AuditLine

__all__ = ["router"]

router = APIRouter()
_ON_A_PAGE = 200
_MOST_PAGES = 50
_DAYS = 7
_SHOWN_FAULTS = 50
_KINDS = (
    "act", "signed in", "signed out", "refused", "ended", "password set", "PIN set", "PIN off",
    "device known", "device forgotten", "given up",
)  # fmt: skip


@router.get("/log", response_class=HTMLResponse)
def show_log(request: Request, fields: Queried) -> HTMLResponse:
    """Show the log of some days, newest first, two hundred lines a page."""
    room, faults = room_of(request), Faults()
    access, today = room.shop.access, room.now().date()
    first, last = _days(fields, faults, today)
    at = _page_number(fields)
    lines: tuple[AuditLine, ...] = ()
    if not faults:
        try:
            lines = access.log(
                first, last, who=fields.one("who") or None, kind=fields.one("kind") or None,
                most=_ON_A_PAGE * _MOST_PAGES if fields.one("find") else _ON_A_PAGE * at + 1,
            )  # fmt: skip
        except StorageTrouble:
            raise
        except CollopError as error:
            faults.add("who" if isinstance(error, NotFound) else "from", error.message)
    found = [one for one in lines if _has(one, fields.one("find").casefold())]
    shown = found[_ON_A_PAGE * (at - 1) : _ON_A_PAGE * at]
    return page(
        request, "log.html", status=422 if faults else 200, faults=faults, fields=fields,
        first=first, last=last, lines=shown, at=at, more=len(found) > _ON_A_PAGE * at,
        address=_address(fields), kinds=_KINDS, seal=access.seal(),
        checked="check" in fields, broken=_broken(room) if "check" in fields else [],
        members=access.members(gone=True), names=_names(room),
        devices={one.number: one.name for one in access.devices()},
    )  # fmt: skip


def _days(fields: Fields, faults: Faults, today: date) -> tuple[date, date]:
    first, last = today - timedelta(days=_DAYS - 1), today
    if fields.one("from"):
        first = faults.take("from", lambda: read_near_day(fields.one("from"), "From", today=today),
                            first)  # fmt: skip
    if fields.one("to"):
        last = faults.take("to", lambda: read_near_day(fields.one("to"), "To", today=today), last)
    if first > last and not faults:
        faults.add("from", "From: choose a day that is not after the last one.")
    return first, last


def _page_number(fields: Fields) -> int:
    told = fields.one("page", "1")
    return min(max(int(told), 1), _MOST_PAGES) if told.isdecimal() and len(told) < 4 else 1


def _has(line: AuditLine, wanted: str) -> bool:
    return any(wanted in (one or "").casefold() for one in (line.what, line.key, line.kind))


def _address(fields: Fields) -> str:
    kept = [(name, fields.one(name)) for name in ("from", "to", "who", "kind", "find")]
    return "/log?" + urlencode([(name, text) for name, text in kept if text])


def _names(room: Room) -> dict[str, str]:
    return {one.id: one.name for one in room.shop.people()}


def _broken(room: Room) -> list[str]:
    return list(room.shop.access.log_faults())[:_SHOWN_FAULTS]
