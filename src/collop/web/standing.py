"""Standing orders: the list, what is due, one order with what happened, and its terms."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, time
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, NotFound, ShopError
from collop.measures import Weight, WeightUnit
from collop.measures.weight import parse_weight
from collop.shop import NewStanding, Standing, StandingLine
from collop.web.amounts import device_unit, sent_unit
from collop.web.forms import Faults, Fields, read_day, read_name, read_time, read_whole
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

if TYPE_CHECKING:
    from collop.shop import Due

__all__ = ["router"]

router = APIRouter()
#: Rows of the form; an order that has more keeps them all, and shows so many more.
FORM_LINES = 8
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")
_DONE = {
    "begun": "The standing order begins.",
    "changed": "Changed. Bookings made stay as they are.",
    "pause": "Paused. Bookings made stay as they are.",
    "resume": "It runs again.",
    "skip": "That day is left out.",
    "end": "Ended. Bookings made stay as they are.",
}
_FIELD_OF = {"first_day": "first", "last_day": "last", "hour": "time", "every_weeks": "every",
             "days": "days", "name": "name", "heads": "heads", "until": "until"}  # fmt: skip
#: Shown on the page of what was made: how many sentences at the most.
_MOST_SAID = 40


@router.get("/standing", response_class=HTMLResponse)
def show_orders(request: Request, fields: Queried) -> HTMLResponse:
    """Show every standing order and the bookings that are due."""
    return _orders(request, fields, Faults())


def _orders(
    request: Request, fields: Fields, faults: Faults, *, status: int = 200, trouble: str = ""
) -> HTMLResponse:
    room = room_of(request)
    until = _until(room, fields, faults)
    due: tuple[Due, ...] = ()
    if not faults.of("until"):
        try:
            due = room.shop.standing.due(until)
        except BadValue as error:
            faults.add("until", error.message)
    return page(
        request, "standing.html", status=422 if faults and status == 200 else status,
        orders=room.shop.standing.orders(), due=due, until=fields.one("until"), faults=faults,
        people=room.shop.people(), fields=fields, trouble=trouble, made=_made(room, fields),
        weekdays=WEEKDAYS,
    )  # fmt: skip


def _until(room: Room, fields: Fields, faults: Faults) -> date | None:
    if not fields.one("until"):
        return None
    today = room.now().date()
    return faults.take("until", lambda: read_day(fields.one("until"), "Up to", first=today), None)


def _made(room: Room, fields: Fields) -> list[tuple[str, list[str]]]:
    """Return the bookings named in the address that standing orders made, with what was said."""
    wanted = set(fields.all("made"))
    if not wanted:
        return []
    return [
        (str(one.booking_id), list(one.facts.get("said", ()))[:_MOST_SAID])
        for order in room.shop.standing.orders()
        for one in order.events
        if one.booking_id in wanted
    ]


@router.post("/standing/make", response_class=HTMLResponse)
def make_due(request: Request, fields: Posted) -> Response:
    """Make the bookings that are due; what is made already is not made again."""
    room, faults = room_of(request), Faults()
    by = faults.take("by", lambda: read_who(room, fields), "")
    until = _until(room, fields, faults)
    if faults:
        return _orders(request, fields, faults, status=422)
    try:
        made = room.shop.standing.make_due(until, by=by)
    except BadValue as error:
        faults.add("until", error.message)
        return _orders(request, fields, faults, status=422)
    except ShopError as error:
        return _orders(request, fields, faults, status=409, trouble=error.message)
    names = "&".join(f"made={one.booking_id}" for one in made) or "made=none"
    return RedirectResponse(f"/standing?{names}", status_code=303)


@router.get("/standing/new", response_class=HTMLResponse)
def show_new(request: Request) -> HTMLResponse:
    """Ask for the terms of a new standing order."""
    return _form(request, None, Fields([("every", "1"), ("time", "11:00")]), Faults())


@router.post("/standing/new", response_class=HTMLResponse)
def begin(request: Request, fields: Posted) -> Response:
    """Begin a standing order."""
    return _write(request, None, fields)


@router.get("/standing/{order_id}", response_class=HTMLResponse)
def show_order(request: Request, order_id: str, fields: Queried) -> HTMLResponse:
    """Show one standing order, and what may be done with it."""
    done = _DONE.get(fields.one("done"), "")
    return _one(request, room_of(request).shop.standing.order(order_id), Faults(), done=done)


def _one(
    request: Request, order: Standing, faults: Faults, *, status: int = 200, done: str = "",
    trouble: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    return page(
        request, "standing_one.html", status=status, order=order, faults=faults, done=done,
        trouble=trouble, people=room.shop.people(), key=uuid4().hex, weekdays=WEEKDAYS,
        names={person.id: person.name for person in room.shop.people()},
        cuts={line.id: line.name for line in room.shop.case()},
        today=room.now().date(),
    )  # fmt: skip


@router.post("/standing/{order_id}/do", response_class=HTMLResponse)
def act(request: Request, order_id: str, fields: Posted) -> Response:
    """Pause, resume, end, or leave one day out."""
    room, faults = room_of(request), Faults()
    order = room.shop.standing.order(order_id)
    by = faults.take("by", lambda: read_who(room, fields), "")
    what = fields.one("do")
    day = None
    if what == "skip":
        today = room.now().date()
        day = faults.take("day", lambda: read_day(fields.one("day"), "Day", first=today), None)
    if faults:
        return _one(request, order, faults, status=422)
    words: dict[str, Any] = {"by": by, "key": fields.one("key")[:64] or uuid4().hex}
    try:
        _act(room, order, what, day, words | {"why": fields.one("why")[:200]})
    except BadValue as error:
        faults.add("day" if error.where == "day" else "by", error.message)
        return _one(request, order, faults, status=422)
    except ShopError as error:
        return _one(request, order, faults, status=409, trouble=error.message)
    return RedirectResponse(f"/standing/{order.id}?done={what}", status_code=303)


def _act(room: Room, order: Standing, what: str, day: date | None, words: dict[str, Any]) -> None:
    service = room.shop.standing
    if what == "skip" and day is not None:
        service.skip(order.id, day, **words)
    elif what == "pause":
        service.pause(order.id, **words)
    elif what == "end":
        service.end(order.id, **words)
    elif what == "resume":
        service.resume(order.id, by=words["by"], key=words["key"])
    else:
        raise BadValue("Choose what to do with it.", where="by")


@router.get("/standing/{order_id}/change", response_class=HTMLResponse)
def show_change(request: Request, order_id: str) -> HTMLResponse:
    """Show the terms, to be changed."""
    order = room_of(request).shop.standing.order(order_id)
    return _form(request, order, _as_fields(order.terms, device_unit(request)), Faults())


@router.post("/standing/{order_id}/change", response_class=HTMLResponse)
def change(request: Request, order_id: str, fields: Posted) -> Response:
    """Put new terms in the place of the old."""
    return _write(request, room_of(request).shop.standing.order(order_id), fields)


def _amount(weight: Weight | None, unit: WeightUnit) -> str:
    """Return a weight as it is typed: with its unit where that is not the form's."""
    if weight is None:
        return ""
    named = "" if weight.unit is unit else f" {weight.unit}"
    return f"{weight.decimal(weight.unit, 3).normalize():f}{named}"


def _as_fields(terms: NewStanding, unit: WeightUnit) -> Fields:
    """Return terms as their form has them, weights in the device's unit or with their own."""
    known = [
        ("name", terms.name), ("phone", terms.phone_end), ("time", f"{terms.hour:%H:%M}"),
        ("every", str(terms.every_weeks)), ("first", terms.first_day.isoformat()),
        ("last", "" if terms.last_day is None else terms.last_day.isoformat()),
        ("heads", str(terms.heads or "")), ("note", terms.note),
        ("account", "yes" if terms.on_account else ""), *(("days", str(day)) for day in terms.days),
    ]  # fmt: skip
    for at, line in enumerate(terms.lines, 1):
        known += [(f"cut{at}", line.case_id), (f"amount{at}", _amount(line.weight, unit)),
                  (f"cap{at}", _amount(line.cap, unit)), (f"instead{at}", line.stand_in or ""),
                  (f"style{at}", line.style or "")]  # fmt: skip
    return Fields(known)


def _form(
    request: Request, order: Standing | None, fields: Fields, faults: Faults, *,
    status: int = 200, trouble: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    return page(
        request, "standing_form.html", status=status, order=order, fields=fields, faults=faults,
        trouble=trouble, people=room.shop.people(), key=fields.one("key") or uuid4().hex,
        lines=room.shop.case(), rows=range(1, _rows(order) + 1), weekdays=WEEKDAYS,
        unit=str(sent_unit(request, fields)), today=room.now().date(),
    )  # fmt: skip


def _rows(order: Standing | None) -> int:
    return FORM_LINES if order is None else max(FORM_LINES, len(order.terms.lines) + 2)


def _write(request: Request, order: Standing | None, fields: Fields) -> Response:
    room, faults = room_of(request), Faults()
    unit = sent_unit(request, fields)
    new = _read(room, fields, faults, _rows(order), unit)
    if faults or new is None:
        return _form(request, order, fields, faults, status=422)
    key = fields.one("key")[:64] or uuid4().hex
    service = room.shop.standing
    try:
        made = (
            service.begin(new, key=key) if order is None
            else service.change(order.id, new, key=key)
        )  # fmt: skip
    except (BadValue, NotFound) as error:
        faults.add(_FIELD_OF.get(error.where, "cut1"), error.message)
        return _form(request, order, fields, faults, status=422)
    except ShopError as error:
        return _form(request, order, fields, faults, status=409, trouble=error.message)
    done = "begun" if order is None else "changed"
    return RedirectResponse(f"/standing/{made.id}?done={done}", status_code=303)


def _read(
    room: Room, fields: Fields, faults: Faults, rows: int, unit: WeightUnit
) -> NewStanding | None:
    today = room.now().date()
    none: time = room.shop.settings().opens
    new = NewStanding(
        name=faults.take("name", lambda: read_name(fields.one("name"), "Name"), ""),
        days=tuple(int(day) for day in fields.all("days") if day in set("0123456")),
        hour=faults.take("time", lambda: read_time(fields.one("time"), "Collected at"), none),
        first_day=faults.take("first", lambda: _day(fields.one("first"), "First day"), today),
        lines=_lines(fields, faults, rows, unit),
        by=faults.take("by", lambda: read_who(room, fields), ""),
        every_weeks=faults.take(
            "every", lambda: read_whole(fields.one("every", "1"), "Every, weeks", 1, 52), 1
        ),
        phone_end="".join(sign for sign in fields.one("phone") if sign.isdigit())[-4:],
        note=fields.one("note")[:1000], on_account=fields.one("account") == "yes",
    )  # fmt: skip
    if fields.one("last"):
        last = faults.take("last", lambda: _day(fields.one("last"), "Last day"), today)
        new = replace(new, last_day=last)
    if fields.one("heads"):
        heads = faults.take("heads", lambda: read_whole(fields.one("heads"), "Heads", 1, 500), 1)
        new = replace(new, heads=heads)
    if not new.days:
        faults.add("days", "Days: choose at least one.")
    return None if faults else new


def _day(text: str, label: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise BadValue(f"{label}: choose a day.") from None


def _lines(
    fields: Fields, faults: Faults, rows: int, unit: WeightUnit
) -> tuple[StandingLine, ...]:  # fmt: skip
    found = []
    for at in range(1, rows + 1):
        cut, amount = fields.one(f"cut{at}"), fields.one(f"amount{at}")
        if not cut:
            continue

        def weight(amount: str = amount) -> Weight | None:
            if not amount:
                raise BadValue("How much: write the weight, such as 4.")
            return parse_weight(amount, unit)

        def cap(text: str = fields.one(f"cap{at}")) -> Weight | None:
            return parse_weight(text, unit) if text else None

        wanted = faults.take(f"amount{at}", weight, None)
        most = faults.take(f"cap{at}", cap, None)
        if wanted is not None:
            found.append(StandingLine(cut, wanted, most, fields.one(f"style{at}") or None,
                                      fields.one(f"instead{at}") or None))  # fmt: skip
    if not found and not faults:
        faults.add("cut1", "Cut: choose at least one cut.")
    return tuple(found)
