"""Adding to a booking: choose a cut, see its price beside what is booked, then add it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import partial
from itertools import accumulate
from typing import TYPE_CHECKING
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, ShopError, WrongState
from collop.measures import Money, UnitPrice, Weight, WeightUnit
from collop.scale import read_weighed
from collop.shop import NewLine, State
from collop.web.add_why import allergy_in, board_price, notes_on, why_other_price
from collop.web.amounts import device_unit, sent_unit
from collop.web.forms import Faults, Fields, read_whole
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of

if TYPE_CHECKING:
    from collop.shop import Booking, CaseLine

__all__ = ["router"]

router = APIRouter()
_MOST_PIECES = 200
_MAY_ADD = {State.ASKED, State.BOOKED}
_PIECES = re.compile(r"([0-9]{1,4}) ?(?:pieces?|pcs?|pc\.)?", re.IGNORECASE)
_NOTHING = "Nothing was added."
_UNREAD = "What was on the screen could not be read: this is how it stands now."


@dataclass(frozen=True, slots=True)
class Added:
    """The line to be added at the board of now, and the booking's total without and with it."""

    line: CaseLine
    wish: NewLine
    price: UnitPrice
    money: Money
    before: Money
    after: Money
    why: str
    notes: tuple[str, ...]

    @property
    def counts(self) -> str:
        """Return the exact weight, or that of each piece, as the form carries it."""
        parts = self.wish.pieces or (self.wish.weight,)
        return "+".join(str(part.count) for part in parts)


@dataclass(frozen=True, slots=True)
class Seen:
    """What the customer saw before saying yes: the line with its price, and the booking's total."""

    wish: NewLine
    total: Money


@router.get("/hook/{booking_id}/add", response_class=HTMLResponse)
def show_adding(request: Request, booking_id: str, fields: Queried) -> HTMLResponse:
    """Ask which cut and how much, or show what is chosen beside what is booked."""
    booking = _may_be_added_to(room_of(request), booking_id)
    faults = Faults()
    asked = "cut" in fields and fields.one("do") != "change"
    added = _read(request, booking, fields, faults) if asked else None
    return _show(request, booking, added, fields, faults, status=422 if faults else 200)


@router.post("/hook/{booking_id}/add", response_class=HTMLResponse)
def add(request: Request, booking_id: str, fields: Posted) -> Response:
    """Add the line that was on the screen, at the price that was on the screen, or say why not."""
    room = room_of(request)
    booking = room.shop.booking(booking_id)
    show = partial(_again, request, booking_id, fields)
    faults = Faults()
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return show(faults, status=422)
    try:
        seen = _read_seen(fields, room.currency)
        room.shop.add_lines(booking.id, (seen.wish,), by=by, total=seen.total,
                            key=fields.one("key")[:64] or uuid4().hex)  # fmt: skip
    except BadValue as error:
        return show(faults, status=422, trouble=error.message)
    except ShopError as error:
        return show(faults, status=409, trouble=error.message)
    return RedirectResponse(f"/hook/{booking.id}?done=added", status_code=303)


def _may_be_added_to(room: Room, booking_id: str) -> Booking:
    booking = room.shop.booking(booking_id)
    if booking.state not in _MAY_ADD:
        raise WrongState(f"{booking.id} is {booking.state}, so nothing is added to it; book the"
                         " rest by itself.")  # fmt: skip
    return booking


def _again(
    request: Request, booking_id: str, fields: Fields, faults: Faults, *, status: int,
    trouble: str = "",
) -> HTMLResponse:  # fmt: skip
    """Show it again as it stands now, saying what is not as it was on the screen."""
    room = room_of(request)
    booking = _may_be_added_to(room, booking_id)
    fresh = Faults()
    added = _read(request, booking, fields, fresh)
    if added is None:  # what was asked can no longer be had: the field says so
        return _show(request, booking, None, fields, fresh, status=status, trouble=_NOTHING)
    changed = trouble or _not_as_seen(fields, added, booking)
    trouble = f"{changed} {_NOTHING}".strip()
    return _show(request, booking, added, fields, faults, status=status, trouble=trouble,
                 changed=bool(changed))  # fmt: skip


def _not_as_seen(fields: Fields, added: Added, booking: Booking) -> str:
    """Return what differs from the screen that was sent; empty if nothing does."""
    try:
        seen = _read_seen(fields, added.money.currency)
    except BadValue:
        return _UNREAD
    if seen.total != booking.total:
        return f"{booking.id} comes to {booking.total} now, not {seen.total}."
    if seen.wish.unit_price != added.price:
        return "The board moved meanwhile; the price below is that of now."
    if (seen.wish.weight, seen.wish.pieces) != (added.wish.weight, added.wish.pieces):
        return f"{added.line.name}: the oldest free pieces are others now."
    return ""


def _read_seen(fields: Fields, currency: str) -> Seen:
    """Read what the form carries unseen: exact counts, price and total as they were shown."""
    counts, minor = fields.one("counts"), fields.one("total")
    known = re.fullmatch(r"[0-9]{1,18}(?:\+[0-9]{1,18})*", counts)
    if not known or not re.fullmatch(r"[0-9]{1,15}", minor) or not fields.one("cut"):
        raise BadValue(_UNREAD)
    try:
        per = WeightUnit(fields.one("per"))
    except ValueError:
        raise BadValue(_UNREAD) from None
    unit = WeightUnit.KG if fields.one("unit") == "kg" else WeightUnit.LB
    pieces = [Weight(int(count), unit) for count in counts.split("+")]
    wish = NewLine(
        fields.one("cut"), Weight(sum(one.count for one in pieces), unit),
        tuple(pieces) if fields.one("by_piece") else None,
        unit_price=UnitPrice.of(fields.one("price")[:20], per, currency),
    )  # fmt: skip
    return Seen(wish, Money(int(minor), currency))


def _read(request: Request, booking: Booking, fields: Fields, faults: Faults) -> Added | None:
    """Read the cut and how much of it, and work out the money at the board of now."""
    room = room_of(request)
    line = faults.take("cut", lambda: _read_cut(room, booking, fields.one("cut")), None)
    if line is None:
        return None
    unit = sent_unit(request, fields)
    wish = faults.take("amount", lambda: _read_amount(line, fields.one("amount"), unit), None)
    if wish is None:
        return None
    money = line.price.line(wish.weight, room.shop.settings().rounding)
    return Added(
        line=line, wish=wish, price=line.price, money=money, before=booking.total,
        after=booking.total + money, why=why_other_price(room, booking, line, device_unit(request)),
        notes=notes_on(booking, line),
    )  # fmt: skip


def _read_cut(room: Room, booking: Booking, case_id: str) -> CaseLine:
    if not case_id:
        raise BadValue("Cut: choose what is added.")
    line = next((one for one in room.shop.case() if one.id == case_id), None)
    if line is None:
        raise BadValue(f"Cut: there is no {case_id[:30]!r} in the case; choose one of the list.")
    allergens = allergy_in(booking, line)
    if allergens:
        raise BadValue(f"{line.name}: holds {allergens}, and {booking.id} is off it for the whole"
                       " table; choose another cut, or book it by itself.")  # fmt: skip
    if not line.free.count:
        raise BadValue(f"{line.name}: nothing of it is free; choose another cut.")
    return line


def _read_amount(line: CaseLine, text: str, unit: WeightUnit) -> NewLine:
    """Read a weight, or how many pieces of goods that are sold whole; the oldest pieces go first.

    Raises
    ------
    BadValue
        If it is neither, or more than is free.
    """
    if line.piece_lb is None:
        weight = _read_weight(line, text, unit)
        if weight > line.free:
            raise BadValue(f"{line.name}: only {line.free.text(unit)} is free; take less.")
        return NewLine(line.id, weight, unit_price=line.price)
    found = _PIECES.fullmatch(text)
    if found is None:
        raise BadValue(f"{line.name}: sold by the piece; write how many, for example 1.")
    count = read_whole(found[1], line.name, 1, _MOST_PIECES)
    left = len(line.piece_lb)
    if count > left:
        told = "1 piece" if left == 1 else f"{left} pieces"
        raise BadValue(f"{line.name}: only {told} free, and {count} asked; take fewer.")
    pieces = tuple(Weight(piece.count, unit) for piece in line.piece_lb[:count])
    *_, total = accumulate(piece.count for piece in pieces)
    return NewLine(line.id, Weight(total, unit), pieces, unit_price=line.price)


def _read_weight(line: CaseLine, text: str, unit: WeightUnit) -> Weight:
    if not text:
        raise BadValue(f"{line.name}: write the weight, for example 2.")
    try:
        weight = read_weighed(text[:40], unit)
    except BadValue:
        raise BadValue(f"{line.name}: sold by weight; write it like 2 or 1.5 kg.") from None
    if not weight.count:
        raise BadValue(f"{line.name}: write a weight over 0.")
    return Weight(weight.count, unit)


def _offered(room: Room, booking: Booking) -> tuple[list[CaseLine], list[str]]:
    """Return what may be added, and the names of what is left out for an allergy."""
    free = [line for line in room.shop.case() if line.free.count and not line.is_past]
    out = [line.name for line in free if allergy_in(booking, line)]
    return [line for line in free if line.name not in out], out


def _show(
    request: Request, booking: Booking, added: Added | None, fields: Fields, faults: Faults, *,
    status: int, trouble: str = "", changed: bool = False,
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    offered, left_out = _offered(room, booking)
    unit = device_unit(request)
    return page(
        request, "add_to.html", status=status, booking=booking, added=added, fields=fields,
        faults=faults, trouble=trouble, offered=offered, left_out=left_out,
        unit=sent_unit(request, fields).value, people=room.shop.people(),
        key=fields.one("key") or uuid4().hex, price_of=lambda price: board_price(price, unit),
        changed=changed,
    )  # fmt: skip
