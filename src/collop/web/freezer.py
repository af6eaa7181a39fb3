"""Freezer orders: a household's half or quarter, chosen, booked, put on paper and packed."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from typing import Any
from urllib.parse import urlencode
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, NotFound, ShopError
from collop.measures import Money, Weight, minor_places
from collop.shop import Booking, FreezerOrder, NewFreezerOrder, Packed, PackedFrom
from collop.web.forms import (
    Faults,
    Fields,
    read_amount,
    read_day,
    read_name,
    read_phone_end,
    read_time,
    read_whole,
)
from collop.web.freezer_form import SHARES, Asked, PartForm, read_order
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

__all__ = ["router"]

router = APIRouter()
_DAYS_AHEAD = 120
_FORMS = {"steaks": "steaks or chops", "roasts": "roasts", "stew": "stew, diced", "mince": "mince"}
_BESIDE = {"collect_at": "day", "name": "name", "deposit": "deposit", "tag": "tag0",
           "price": "price0", "weight": "take0", "booking": "booking"}  # fmt: skip


@router.get("/freezer", response_class=HTMLResponse)
def show_list(request: Request) -> HTMLResponse:
    """Show the orders that wait, and the pieces a household may have a share of."""
    room = room_of(request)
    return page(request, "freezer.html", orders=room.shop.freezer.orders(),
                pieces=room.shop.freezer.pieces(), faults=Faults())  # fmt: skip


@router.get("/freezer/new", response_class=HTMLResponse)
def show_form(request: Request, fields: Queried) -> HTMLResponse:
    """Show the choices of a piece and what they come to."""
    faults = Faults()
    return _form(request, fields, read_order(room_of(request), fields, faults), faults)


@router.post("/freezer/new", response_class=HTMLResponse)
def work_out(request: Request, fields: Posted) -> HTMLResponse:
    """Work the choices out again; nothing is written."""
    faults = Faults()
    return _form(request, fields, read_order(room_of(request), fields, faults), faults)


def _form(
    request: Request, fields: Fields, asked: Asked, faults: Faults, *, trouble: str = "",
    key: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    told = trouble or asked.trouble
    status = 422 if faults else 409 if told else 200
    return page(
        request, "freezer_new.html", status=status, fields=fields, faults=faults, asked=asked,
        plan=asked.plan, forms_at=_slots(asked), pieces=room.shop.freezer.pieces(),
        shares=SHARES, forms=_FORMS,
        unit=str(room.shop.freezer.unit()), trouble=told, people=room.shop.people(),
        bookings=_waiting(room), key=key or fields.one("key") or uuid4().hex, weigh=_weigher(room),
    )  # fmt: skip


def _slots(asked: Asked) -> list[tuple[int, PartForm | None]]:
    """Return the places of the form: the first always, the second once there is a first."""
    filled = {one.at: one for one in asked.parts}
    return [(at, filled.get(at)) for at in (0, 1) if at == 0 or filled]


def _weigher(room: Room) -> Any:  # noqa: ANN401 -- a function for the template
    unit = room.shop.freezer.unit()
    return lambda text: Weight.of(text, unit)


def _waiting(room: Room) -> list[Booking]:
    """Return the bookings without a line that are for the freezer, or have a claim on the rail."""
    today = room.now().date()
    found = room.shop.bookings(today, today + timedelta(days=_DAYS_AHEAD))
    claimed = {claim.booking_id for piece in room.shop.rail() for claim in piece.claims}
    return [
        one for one in found
        if one.state.holds and not one.lines and (one.kind == "freezer" or one.id in claimed)
    ]  # fmt: skip


@router.post("/freezer/book", response_class=HTMLResponse)
def book(request: Request, fields: Posted) -> Response:
    """Book the order and hang it on its pieces."""
    room, faults = room_of(request), Faults()
    asked = read_order(room, fields, faults)
    new, by = _read_new(room, fields, asked, faults)
    if faults or new is None:
        return _form(request, fields, asked, faults)
    try:
        made = room.shop.freezer.order(new, by=by, key=fields.one("key")[:64] or uuid4().hex)
    except BadValue as error:
        if error.where == "key":
            faults.add("tag0", "This form was sent already; look at the list, then send it anew.")
            return _form(request, fields, asked, faults, key=uuid4().hex)
        faults.add(_BESIDE.get(error.where, "tag0"), error.message)
        return _form(request, fields, asked, faults)
    except ShopError as error:
        return _form(request, fields, asked, faults, trouble=f"{error.message} Nothing was booked.")
    return RedirectResponse(f"/freezer/{made.booking.id}?done=booked", status_code=303)


def _read_new(
    room: Room, fields: Fields, asked: Asked, faults: Faults
) -> tuple[NewFreezerOrder | None, str]:
    if not asked.parts:
        faults.add("tag0", "Piece: choose what the household has a share of.")
    booking_id = fields.one("booking")
    by = faults.take("by", lambda: read_who(room, fields), "")
    name, phone, when = "", "", None
    if not booking_id:
        name = faults.take("name", lambda: read_name(fields.one("name"), "Name"), "")
        today = room.now().date()
        day = faults.take("day", lambda: read_day(fields.one("day"), "Collect on", first=today),
                          today)  # fmt: skip
        hour = faults.take("time", lambda: read_time(fields.one("time"), "Collect at"),
                           room.now().time())  # fmt: skip
        when = datetime.combine(day, hour)
        if fields.one("phone"):
            phone = faults.take("phone", lambda: read_phone_end(fields.one("phone")), "")
    deposit = faults.take("deposit", lambda: _deposit(room, fields), None)
    if faults or asked.problem is None or asked.plan is None:
        return None, by
    seen = fields.one("seen") or asked.plan["money"]["total"]
    total = faults.take("tag0", lambda: Money.of(seen, room.currency), Money(0, room.currency))
    return NewFreezerOrder(
        problem=asked.problem, total=total, booking_id=booking_id, name=name, collect_at=when,
        phone_end=phone, deposit=deposit, note=fields.one("note"),
    ), by  # fmt: skip


def _deposit(room: Room, fields: Fields) -> Money | None:
    text = fields.one("deposit")
    if not text:
        return None
    amount = read_amount(text, "Deposit paid", places=minor_places(room.currency))
    return Money.of(amount, room.currency)


_DONE = {"booked": "Booked. The bench list shows it.",
         "packed": "Packed. The weights are on the booking."}  # fmt: skip


@router.get("/freezer/{booking_id}", response_class=HTMLResponse)
def show_order(request: Request, booking_id: str, fields: Queried) -> Response:
    """Show the sheet of an order; a booking that has none yet is led to the choices."""
    room = room_of(request)
    booking = room.shop.booking(booking_id)
    try:
        order = room.shop.freezer.of_booking(booking_id)
    except NotFound:
        tags = [
            piece.tag for piece in room.shop.rail()
            if any(claim.booking_id == booking.id for claim in piece.claims)
        ]  # fmt: skip
        query = [("booking", booking.id), *((f"tag{at}", tag) for at, tag in enumerate(tags[:2]))]
        return RedirectResponse(f"/freezer/new?{urlencode(query)}", status_code=303)
    return _paper(request, "freezer_order.html", order, done=_DONE.get(fields.one("done"), ""))


@router.get("/freezer/{booking_id}/bench", response_class=HTMLResponse)
def show_bench(request: Request, booking_id: str) -> HTMLResponse:
    """Show the bench card: per large cut what to do, packs and tickets."""
    order = room_of(request).shop.freezer.of_booking(booking_id)
    return _paper(request, "freezer_bench.html", order)


def _paper(request: Request, template: str, order: FreezerOrder, done: str = "") -> HTMLResponse:
    room = room_of(request)
    names = {person.id: person.name for person in room.shop.people()}
    return page(request, template, order=order, plan=order.plan, done=done, names=names,
                unit=order.plan["unit"], weigh=_weigher(room), faults=Faults(),
                asked=zip(order.problem["parts"], order.plan["parts"], strict=True))  # fmt: skip


@router.get("/freezer/{booking_id}/pack", response_class=HTMLResponse)
def show_pack(request: Request, booking_id: str) -> HTMLResponse:
    """Ask for the weights of the packs, lot by lot."""
    return _pack(request, booking_id, Fields([]), Faults())


def _pack(
    request: Request, booking_id: str, fields: Fields, faults: Faults, *, trouble: str = "",
    key: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    order = room.shop.freezer.of_booking(booking_id)
    rows = [_rows(room, at, part) for at, part in enumerate(order.plan["parts"])]
    status = 422 if faults else 409 if trouble else 200
    return page(
        request, "freezer_pack.html", status=status, order=order, plan=order.plan, fields=fields,
        faults=faults, rows=rows, trouble=trouble, people=room.shop.people(),
        key=key or fields.one("key") or uuid4().hex, unit=order.plan["unit"], weigh=_weigher(room),
    )  # fmt: skip


def _rows(room: Room, at: int, part: dict[str, Any]) -> list[tuple[str, PackedFrom]]:
    """Return the lots of one part with the name of their fields."""
    found = room.shop.freezer.packed_from(part["tag"])
    return [(_name(at, one), one) for one in found]


def _name(at: int, one: PackedFrom) -> str:
    return re.sub(r"[^A-Za-z0-9-]", "-", f"{at}-{one.lot_id}-{one.place}")


@router.post("/freezer/{booking_id}/pack", response_class=HTMLResponse)
def pack(request: Request, booking_id: str, fields: Posted) -> Response:
    """Take the packs out of the stock at their weight."""
    room, faults = room_of(request), Faults()
    order = room.shop.freezer.of_booking(booking_id)
    by = faults.take("by", lambda: read_who(room, fields), "")
    packed = {
        at: _read_packed(room, _rows(room, at, part), fields, faults)
        for at, part in enumerate(order.plan["parts"])
    }
    for at, lines in packed.items():
        if not lines and not faults:
            tag = order.plan["parts"][at]["tag"]
            faults.add("by", f"{tag}: weigh the packs of it first; if it hangs, break it.")
    if faults:
        return _pack(request, booking_id, fields, faults)
    try:
        room.shop.freezer.settle(
            booking_id, packed, by=by, key=fields.one("key")[:64] or uuid4().hex
        )
    except BadValue as error:
        faults.add("by", error.message)
        return _pack(request, booking_id, fields, faults, key=uuid4().hex)
    except ShopError as error:
        return _pack(request, booking_id, fields, faults, trouble=error.message)
    return RedirectResponse(f"/freezer/{order.booking.id}?done=packed", status_code=303)


def _read_packed(
    room: Room, rows: list[tuple[str, PackedFrom]], fields: Fields, faults: Faults
) -> list[Packed]:
    unit, found = room.shop.freezer.unit(), []
    for name, lot in rows:
        text, count = fields.one(f"w-{name}"), fields.one(f"n-{name}") or "1"
        if not text:
            continue
        try:
            amount = read_amount(text, f"Weight of {lot.what}", places=3)
            weight = Weight.of(amount, unit)
        except BadValue as error:
            faults.add(f"w-{name}", error.message)
            continue
        try:
            packs = read_whole(count, f"Packs of {lot.what}", 1, 500)
        except BadValue as error:
            faults.add(f"n-{name}", error.message)
            continue
        if weight:
            found.append(Packed(lot.lot_id, lot.place, weight, packs))
    return found
