"""Lock-up: the lines to count tonight, what is still open, and the lock."""

from __future__ import annotations

from datetime import date
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, ShopError
from collop.measures import Weight, WeightUnit
from collop.shop import LockedLine, LockUp
from collop.shop.lockup_model import WORDS
from collop.shop.lockup_ways import money_at
from collop.web.forms import Faults, Fields
from collop.web.hook import read_who, standing_due
from collop.web.lockup_words import in_units
from collop.web.rendering import page, shown_for
from collop.web.room import Posted, Queried, Room, room_of

__all__ = ["DONE", "router"]

router = APIRouter()
DONE = {
    "count": "Counted. The gap is written down.",
    "skip": "Skipped. It comes first the next time.",
    "carry": "Carried. Nothing was moved.",
    "convert": "Moved. It is in the trim bin or on its new line.",
    "freeze": "Frozen. It is on its frozen line.",
    "bin": "Binned.",
    "undo": "Taken back.",
    "lock": "Locked.",
}
_UNDONE = ("carry", "convert", "freeze", "bin")


@router.get("/lockup", response_class=HTMLResponse)
def show_sheet(request: Request, fields: Queried) -> Response:
    """Show the sheet of today, or of a day before it."""
    day = _day(fields.one("day"))
    return _show(request, Fields([]), Faults(), day=day, done=DONE.get(fields.one("done"), ""))


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text) if text else None
    except ValueError:
        return None


@router.post("/lockup", response_class=HTMLResponse)
def lock_day(request: Request, fields: Posted) -> Response:
    """Lock the day, or show what is still to be said."""
    room, faults = room_of(request), Faults()
    by = faults.take("by", lambda: read_who(room, fields), "")
    words = {name.removeprefix("word-"): text for name, text in fields
             if name.startswith("word-") and text}  # fmt: skip
    day = _day(fields.one("day"))
    for one in room.shop.lockup.sheet(day).open_bookings:
        if words.get(one.id) not in WORDS:
            faults.add(f"word-{one.id}", f"{one.id}, {one.name}: say what became of it.")
    if faults:
        return _show(request, fields, faults, day=day, status=422)
    key = fields.one("key")[:64] or uuid4().hex
    try:
        room.shop.lockup.lock(day, fields.one("note"), by=by, key=key, words=words)
    except BadValue as error:
        faults.add(error.where if error.where in {"note", "by"} else "by", error.message)
        return _show(request, fields, faults, day=day, status=422)
    except ShopError as error:
        return _show(request, fields, faults, day=day, status=409, trouble=error.message)
    return RedirectResponse(f"/lockup?done=lock{f'&day={day}' if day else ''}", status_code=303)


@router.post("/lockup/undo", response_class=HTMLResponse)
def undo(request: Request, fields: Posted) -> Response:
    """Take back what was done last."""
    room, faults = room_of(request), Faults()
    by = faults.take("by", lambda: read_who(room, fields), "")
    seq = fields.one("seq")
    if faults or not (seq.isascii() and seq.isdigit() and len(seq) < 16):
        faults.add("by", "Undo: look at what was done last, and undo that.")
        return _show(request, fields, faults, status=422)
    try:
        room.shop.lockup.undo(int(seq), by=by, key=f"undo-{fields.one('key')[:60] or uuid4().hex}")
    except ShopError as error:
        return _show(request, fields, faults, status=409, trouble=error.message)
    return RedirectResponse("/lockup?done=undo", status_code=303)


def last_done(room: Room, sheet: LockUp) -> LockedLine | None:
    """Return what was done last tonight and may be taken back; None if nothing."""
    entries = [one for line in sheet.lines for one in line.entries]
    taken = {one.why for one in entries}
    found = [
        one for one in entries
        if one.what in _UNDONE and not one.why.startswith("taken back")
        and f"taken back: {one.seq}" not in taken and (room.now() - one.at).total_seconds() < 3600
    ]  # fmt: skip
    return max(found, key=lambda one: one.seq, default=None)


def _show(
    request: Request, fields: Fields, faults: Faults, *, day: date | None = None,
    status: int = 200, done: str = "", trouble: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    try:
        sheet = room.shop.lockup.sheet(day)
    except BadValue as error:
        trouble, day, status = error.message, None, 422
        sheet = room.shop.lockup.sheet()
    chosen = room.shop.settings()
    gaps = {
        line.case_id: money_at(line.counted.gap, line.price, chosen)
        for line in sheet.lines
        if line.counted is not None and line.counted.gap is not None
    }
    following = next((line for line in sheet.lines if not line.is_done), None)
    return page(
        request, "lockup.html", status=status, sheet=sheet, gaps=gaps, following=following,
        words=WORDS, last=last_done(room, sheet), people=room.shop.people(), faults=faults,
        form=fields, key=uuid4().hex, done=done, trouble=trouble, asked_day=day,
        is_today=sheet.day == room.now().date(), verbs=VERBS, told=in_units(shown_for(request)),
        weigh=_weigh, copies=request.app.state.keeper, **standing_due(room),
    )  # fmt: skip


def _weigh(text: str, unit: str) -> Weight:
    """Return a weight as it was locked."""
    return Weight.of(text, WeightUnit(unit))


#: What was done, as the list says it.
VERBS = {"count": "counted", "skip": "skipped", "carry": "carried", "convert": "converted",
         "freeze": "frozen", "bin": "binned"}  # fmt: skip
