"""The hook: a fortnight of bookings, one slip each."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, ShopError
from collop.measures import Weight, WeightUnit
from collop.shop import Booking, State
from collop.shop.pickup_choices import CHOICES
from collop.shop.reminders import next_open_day
from collop.web.forms import Faults, Fields, read_choice
from collop.web.planning import collect_by_of
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

__all__ = ["read_who", "router", "show_slip", "standing_due"]

router = APIRouter()
_DAYS = 14
_UNDO_FOR = timedelta(hours=1)
#: What a butcher may do next, by state: the state it leads to and the words on the button.
NEXT: dict[str, tuple[str, str]] = {
    "asked": ("booked", "Mark booked"),
    "booked": ("cut", "Mark cut"),
    "cut": ("packed", "Mark packed"),
}
_EVENTS = {
    "book": "booked",
    "add": "added to",
    "state": "moved on",
    "undo": "undone",
    "hand over": "handed over",
    "stop": "stopped",
    "set aside": "set aside",
    "renew": "taken from fresh",
    "without": "goes without",
}
_DONE = {
    "booked": "Booked. The weights have left the free stock.",
    "promised": "Booked. What is there is reserved, the rest is to come.",
    "added": "Added. The lines before it keep their prices.",
    "moved": "Marked.",
    "released": "Released. The weights are free again.",
    "undone": "Undone.",
    "gone": "Handed over.",
}


@router.get("/hook", response_class=HTMLResponse)
def show_hook(request: Request, fields: Queried) -> HTMLResponse:
    """Show fourteen days of bookings, or those that match the words."""
    room = room_of(request)
    find = fields.one("find")
    first = _first_day(fields, room.now().date())
    found = room.shop.find(find) if find else ()
    days = [first + timedelta(days=step) for step in range(_DAYS)]
    return page(
        request, "hook.html", find=find, found=found, first=first, today=room.now().date(),
        days=_columns(room, days), waiting=room.shop.promising.waiting(),
        **standing_due(room), key=uuid4().hex, people=room.shop.people(), faults=Faults(),
        reminders=() if find else room.shop.promising.reminders(),
        earlier=first - timedelta(days=_DAYS), later=first + timedelta(days=_DAYS),
    )  # fmt: skip


def standing_due(room: Room) -> dict[str, Any]:
    """Return what is due of standing orders in a week, and of it up to the next open day."""
    due = room.shop.standing.due()
    until = next_open_day(room.now().date(), room.shop.settings())
    soon = [one for one in due if until is not None and one.collect_at.date() <= until]
    return {"due": due, "soon": soon, "until": until}


def _first_day(fields: Fields, today: date) -> date:
    try:
        first = date.fromisoformat(fields.one("from"))
    except ValueError:
        return today
    near = timedelta(days=3660)
    return first if today - near <= first <= today + near else today


def _columns(room: Room, days: list[date]) -> list[dict[str, Any]]:
    settings = room.shop.settings()
    bookings = sorted(room.shop.bookings(days[0], days[-1]), key=lambda slip: slip.collect_at)
    due = room.shop.standing.due_by(days[-1])
    return [
        {
            "day": day,
            "open": settings.is_open(day),
            "slips": [slip for slip in bookings if slip.collect_at.date() == day],
            "due": [one for one in due if one.collect_at.date() == day],
        }
        for day in days
    ]


@router.get("/hook/{booking_id}", response_class=HTMLResponse)
def show_booking(request: Request, booking_id: str, fields: Queried) -> HTMLResponse:
    """Show one slip."""
    booking = room_of(request).shop.booking(booking_id)
    return show_slip(request, booking, done=_DONE.get(fields.one("done"), ""))


def show_slip(
    request: Request,
    booking: Booking,
    *,
    done: str = "",
    trouble: str = "",
    faults: Faults | None = None,
    status: int = 200,
) -> HTMLResponse:
    """Show a slip with what may be done next."""
    room = room_of(request)
    last = booking.events[-1] if booking.events else None
    gone = room.shop.slip(booking.id) if str(booking.state) == "gone" else None
    held = sum((line.held.count for line in booking.lines), 0)
    return page(
        request, "slip.html", status=status, booking=booking, gone=gone,
        deposit_words=room.shop.money.of(booking.id).deposit_words,
        money_now=room.shop.pickup.money(booking.id), rule=room.shop.settings().rounding,
        handed={line.line_id: line.line_total for line in gone.lines} if gone else {},
        done=done, trouble=trouble, collect_by=collect_by_of(booking.ask),
        faults=faults or Faults(), people=room.shop.people(), key=uuid4().hex,
        late=room.shop.papers.late_of(booking.id),
        renewals=[one for one in room.shop.pickup.renewals(booking.id) if one.fresh],
        to_come=[one for one in room.shop.bench.wants()
                 if one.booking_id == booking.id and one.left],
        comes_to=room.shop.promising.comes_to(booking.id),
        names={person.id: person.name for person in room.shop.people()}, event_words=_EVENTS,
        next_step=NEXT.get(str(booking.state)), held=Weight(held, WeightUnit.LB),
        can_undo=bool(last and room.now() - last.at <= _UNDO_FOR and _undoable(booking)),
    )  # fmt: skip


def _undoable(booking: Booking) -> bool:
    last = booking.events[-1]
    return last.what in {"book", "put back", "state", *CHOICES} or booking.state == "off"


def read_who(room: Room, fields: Fields) -> str:
    """Read who does it.

    Raises
    ------
    BadValue
        If nobody, or nobody who works here, is named.
    """
    if not fields.one("by"):
        raise BadValue("Who: choose who does this.")
    return read_choice(fields.one("by"), "Who", [person.id for person in room.shop.people()])


@router.post("/hook/{booking_id}/state", response_class=HTMLResponse)
def move_on(request: Request, booking_id: str, fields: Posted) -> Response:
    """Move a booking one state on."""
    room = room_of(request)
    return _act(request, booking_id, fields, "moved", lambda by, key: room.shop.change_state(
        booking_id, _state(fields), by=by, key=key))  # fmt: skip


def _state(fields: Fields) -> State:
    return State(read_choice(fields.one("state"), "State", [target for target, _ in NEXT.values()]))


@router.post("/hook/{booking_id}/release", response_class=HTMLResponse)
def release(request: Request, booking_id: str, fields: Posted) -> Response:
    """Release a booking: its weights are free again."""
    room = room_of(request)
    why = fields.one("why")[:200] or "released at the counter"
    return _act(request, booking_id, fields, "released", lambda by, key: room.shop.release(
        booking_id, by=by, key=key, why=why))  # fmt: skip


@router.post("/hook/{booking_id}/undo", response_class=HTMLResponse)
def undo(request: Request, booking_id: str, fields: Posted) -> Response:
    """Undo a booking or a release within the hour."""
    room = room_of(request)
    return _act(request, booking_id, fields, "undone", lambda by, key: room.shop.undo(
        booking_id, by=by, key=key))  # fmt: skip


def _act(request: Request, booking_id: str, fields: Fields, done: str, act: Any) -> Response:  # noqa: ANN401
    """Do one thing to a booking and go back to its slip, or show why it was not done."""
    room = room_of(request)
    booking = room.shop.booking(booking_id)
    faults = Faults()
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return show_slip(request, booking, faults=faults, status=422)
    try:
        act(by, fields.one("key")[:64] or uuid4().hex)
    except BadValue as error:
        faults.add("by", error.message)
        return show_slip(request, booking, faults=faults, status=422)
    except ShopError as error:
        return show_slip(request, booking, trouble=error.message, status=409)
    return RedirectResponse(f"/hook/{booking.id}?done={done}", status_code=303)
