"""What the shop learned: how orders ate, what the knife left, what sells a day."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, CollopError, NotFound, WrongState
from collop.measures import Weight
from collop.shop import Booking, Fed, NewFeedback, State
from collop.web.forms import Faults, Fields, read_choice, read_whole
from collop.web.hook import read_who
from collop.web.knife_reading import read_weight, unit_of
from collop.web.pictures_week import weekday_picture
from collop.web.rendering import page, shown_for
from collop.web.room import Posted, Queried, Room, room_of

__all__ = ["LEFT", "router"]

router = APIRouter()

#: What a customer says of the food, and the share of it that was left; None: nobody knows.
LEFT: dict[str, tuple[str, Decimal | None]] = {
    "much": ("much was left, a third or so", Decimal("0.33")),
    "some": ("some was left, a tenth or so", Decimal("0.10")),
    "none": ("nothing was left, and it was enough", Decimal(0)),
    "short": ("it was short by a tenth or so", Decimal("-0.10")),
    "out": ("it ran out, by how much nobody knows", None),
}
_MOST = 2000
_MANY = 2**31


@router.get("/learning", response_class=HTMLResponse)
def show_learning(request: Request, fields: Queried) -> HTMLResponse:
    """Show all that was learned, and the form of a cutting test."""
    return _show(request, fields, Faults())


@router.post("/learning/test", response_class=HTMLResponse)
def write_test(request: Request, fields: Posted) -> Response:
    """Write a cutting test of a line."""
    room, faults = room_of(request), Faults()
    by = faults.take("by", lambda: read_who(room, fields), "")
    ids = [line.id for line in room.shop.case()]
    case_id = faults.take(
        "case_id", lambda: read_choice(fields.one("case_id"), "Cut", ids), ""
    )  # fmt: skip
    weights = [_weight(request, fields, faults, name) for name in ("before", "after")]
    if faults:
        return _show(request, fields, faults, status=422)
    try:
        room.shop.learning.test(
            case_id, weights[0], weights[1], words=fields.one("words"), by=by, key=fields.one("key")
        )
    except CollopError as error:
        known = error.where if error.where in {"before", "after", "case_id", "words"} else "after"
        faults.add(known, error.message)
        return _show(request, fields, faults, status=422)
    return RedirectResponse("/learning?done=test", status_code=303)


@router.post("/learning/test/back", response_class=HTMLResponse)
def take_test_back(request: Request, fields: Posted) -> Response:
    """Take a cutting test back by a further line."""
    room, faults = room_of(request), Faults()
    by = faults.take("back_by", lambda: read_who(room, fields), "")
    number = faults.take("number", lambda: read_whole(fields.one("number"), "Test", 1, _MANY), 0)
    if faults:
        return _show(request, fields, faults, status=422)
    try:
        room.shop.learning.take_back(number, by=by, key=fields.one("key"))
    except NotFound as error:
        faults.add("number", error.message)
        return _show(request, fields, faults, status=422)
    return RedirectResponse("/learning?done=back", status_code=303)


def _weight(request: Request, fields: Fields, faults: Faults, name: str) -> Weight:
    label = {"before": "Before the knife", "after": "After it"}[name]
    unit = unit_of(request, fields)
    return faults.take(
        name, lambda: read_weight(fields.one(name), label, unit), Weight.zero()
    )  # fmt: skip


def _show(request: Request, fields: Fields, faults: Faults, *, status: int = 200) -> HTMLResponse:
    room = room_of(request)
    learned = room.shop.learning
    case = room.shop.case()
    names = {line.id: line.name for line in case}
    line = fields.one("line")
    week = learned.weekdays(line or None)
    return page(
        request, "learning.html", status=status, faults=faults, fields=fields,
        key=fields.one("key") or uuid4().hex, people=room.shop.people(),
        appetite=learned.appetite(), told=learned.told(), cuts=learned.cuts(),
        tests=learned.tests(), paces=[one for one in learned.paces() if one.plan["days"]],
        lines=[one for one in case if 0 < one.boneless_fraction < 1],
        names={one.id: one.name for one in room.shop.people()}, waiting=_waiting(room),
        done=fields.one("done"), week_lines=names, week_line=line,
        week=weekday_picture(week, names.get(line, ""), shown_for(request)),
    )  # fmt: skip


def _waiting(room: Room) -> tuple[Booking, ...]:
    """Return the orders that went in the last two weeks and of which nobody told how they ate."""
    return room.shop.learning.waiting(room.now().date() - timedelta(days=14))


@router.get("/hook/{booking_id}/ate", response_class=HTMLResponse)
def show_ate(request: Request, booking_id: str, fields: Queried) -> HTMLResponse:
    """Ask how an order ate."""
    return _show_ate(request, room_of(request).shop.booking(booking_id), fields, Faults())


@router.post("/hook/{booking_id}/ate", response_class=HTMLResponse)
def write_ate(request: Request, booking_id: str, fields: Posted) -> Response:
    """Write how an order ate."""
    room, faults = room_of(request), Faults()
    booking = room.shop.booking(booking_id)
    by = faults.take("by", lambda: read_who(room, fields), "")
    left = faults.take(
        "left", lambda: LEFT[read_choice(fields.one("left"), "The food", LEFT)][1], None
    )  # fmt: skip
    fed = Fed(*(_heads(fields, faults, name) for name in ("usual", "child", "big")))
    if faults:
        return _show_ate(request, booking, fields, faults, status=422)
    new = NewFeedback(fed, left, fields.one("words"))
    try:
        room.shop.learning.tell(booking.id, new, by=by, key=fields.one("key"))
    except BadValue as error:
        faults.add({"heads": "usual"}.get(error.where, error.where or "left"), error.message)
        return _show_ate(request, booking, fields, faults, status=422)
    except WrongState as error:
        return _show_ate(request, booking, fields, faults, status=409, trouble=error.message)
    return RedirectResponse("/learning?done=ate", status_code=303)


def _heads(fields: Fields, faults: Faults, name: str) -> int:
    label = {"usual": "Usual eaters", "child": "Children", "big": "Big eaters"}[name]
    text = fields.one(name) or "0"
    return faults.take(name, lambda: read_whole(text, label, 0, _MOST), 0)


def _show_ate(
    request: Request, booking: Booking, fields: Fields, faults: Faults, *, status: int = 200,
    trouble: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    ask = booking.ask
    child, big = (int(ask.get(name) or 0) for name in ("child", "big"))
    usual = max(0, (booking.heads or 0) - child - big)
    typed = {
        "usual": fields.one("usual", str(usual)),
        "child": fields.one("child", str(child)),
        "big": fields.one("big", str(big)),
    }
    return page(
        request, "learning_ate.html", status=status, booking=booking, faults=faults,
        fields=fields, typed=typed, left=LEFT, trouble=trouble,
        is_gone=booking.state is State.GONE and booking.kind == "order",
        people=room.shop.people(),
        key=fields.one("key") or uuid4().hex, before=room.shop.learning.told(booking.id),
    )  # fmt: skip
