"""Work on a booked line or on free stock: what it weighed, what it weighs, where the rest went."""

from __future__ import annotations

from typing import TYPE_CHECKING
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, CollopError, ShopError
from collop.measures import Weight
from collop.scale import read_weighed
from collop.shop.works_model import RESTS
from collop.web.forms import Faults, Fields, read_choice
from collop.web.hook import read_who
from collop.web.knife_reading import unit_of
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

if TYPE_CHECKING:
    from collop.shop import BookingLine, CaseLine

__all__ = ["router"]

router = APIRouter()
_FIELDS = ("what", "before", "after", "words", "into", "rest")
_DONE = {"work": "Kept. What it became is a lot of its own.", "back": "Taken back."}


@router.get("/works", response_class=HTMLResponse)
def show_works(request: Request, fields: Queried) -> Response:
    """Show the form of one piece of work, and what was done."""
    return _show(request, fields, Faults(), done=_DONE.get(fields.one("done"), ""))


@router.post("/works", response_class=HTMLResponse)
def do_work(request: Request, fields: Posted) -> Response:
    """Keep one piece of work, or show what is wrong with it."""
    room, faults = room_of(request), Faults()
    what = fields.one("what")
    if not what:
        faults.add("what", "Of: choose what was worked on.")
    before = faults.take("before", lambda: _weight(request, fields, "before", "Before"), None)
    after = faults.take("after", lambda: _weight(request, fields, "after", "After"), None)
    if not fields.one("words"):
        faults.add("words", "Done: say what was done, like: boned and tied.")
    rest = faults.take("rest", lambda: read_choice(fields.one("rest", "bone"), "Rest", RESTS), "")
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults or before is None or after is None:
        return _show(request, fields, faults, status=422)
    try:
        room.shop.pickup.work(
            what, before, after, fields.one("into")[:120], fields.one("words")[:200], by=by,
            key=_key(fields), rest=rest,
        )  # fmt: skip
    except BadValue as error:
        faults.add(error.where if error.where in _FIELDS else "after", error.message)
        return _show(request, fields, faults, status=422)
    except ShopError as error:
        return _show(request, fields, faults, status=409, trouble=error.message)
    return RedirectResponse(f"/works?done=work{_of(what)}", status_code=303)


@router.post("/works/take-back", response_class=HTMLResponse)
def take_back(request: Request, fields: Posted) -> Response:
    """Take a piece of work back, or show why it stays."""
    room, faults = room_of(request), Faults()
    number = fields.one("number")
    if not (number.isascii() and number.isdecimal() and len(number) <= 12):
        faults.add("number", "Take back: choose which work.")
    by = faults.take("back-by", lambda: read_who(room, fields), "")
    if faults:
        return _show(request, fields, faults, status=422)
    try:
        room.shop.pickup.take_work_back(int(number), by=by, key=_key(fields))
    except CollopError as error:
        return _show(request, fields, faults, status=409, trouble=error.message)
    return RedirectResponse(f"/works?done=back{_of(fields.one('what'))}", status_code=303)


def _key(fields: Fields) -> str:
    return fields.one("key")[:64] or uuid4().hex


def _of(what: str) -> str:
    """Return the part of an address that keeps a booked line open; others fall away."""
    return f"&what={what}" if what.replace("-", "").isalnum() and what.isascii() else ""


def _weight(request: Request, fields: Fields, name: str, label: str) -> Weight:
    text = fields.one(name)
    if not text:
        raise BadValue(f"{label}: put it on the scale, for example 13.0.")
    try:
        return read_weighed(text[:40], unit_of(request, fields))
    except BadValue:
        raise BadValue(f"{label}: write the weight like 9.36 or 4.25 kg.") from None


def _booked(room: Room, what: str) -> BookingLine | None:
    """Return the booked line of an id such as H1-1; None if it is none."""
    name, dash, _ = what.strip().upper().partition("-")
    if not dash:
        return None
    try:
        booking = room.shop.booking(name)
    except CollopError:
        return None
    return next((line for line in booking.lines if line.id == what.strip().upper()), None)


def _choices(lines: tuple[CaseLine, ...], booked: BookingLine | None) -> list[tuple[str, str]]:
    found = [(line.id, f"{line.name}: {line.free.text()} free") for line in lines if line.free]
    if booked is not None:
        told = f"{booked.id}, {booked.name}: {booked.held.text()} held"
        found.insert(0, (booked.id, told))
    return found


def _show(
    request: Request, fields: Fields, faults: Faults, *, status: int = 200, done: str = "",
    trouble: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    booked = _booked(room, fields.one("what"))
    name = None if booked is None else booked.id.partition("-")[0]
    return page(
        request, "works.html", status=status, fields=fields, faults=faults, done=done,
        trouble=trouble, booked=booked, booking=name, rests=RESTS,
        options=_choices(room.shop.case(), booked), works=room.shop.pickup.works(name)[:20],
        names={person.id: person.name for person in room.shop.people()},
        people=room.shop.people(), key=uuid4().hex, unit=unit_of(request, fields).value,
    )  # fmt: skip
