"""Free by: what may be promised for a date, the answer to one wish, and booking for that date."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, ShopError
from collop.measures import Money, Weight, WeightUnit
from collop.measures.weight import parse_weight
from collop.reference import cook_minimum
from collop.reference.other_names import other_names
from collop.shop import NewBooking, NewLine
from collop.shop.fire_cooks import cook_as_told
from collop.web.amounts import device_unit, sent_unit
from collop.web.deposit import read_deposit_way
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
from collop.web.hook import read_who
from collop.web.rendering import page
from collop.web.room import Posted, Queried, Room, room_of
from collop.web.sent_before import made_before

if TYPE_CHECKING:
    from collections.abc import Iterable

    from collop.shop import CaseLine, FreeBy, PromiseAnswer

__all__ = ["read_lines", "router"]

router = APIRouter()
#: Lines a booking form has; more are added to the slip.
FORM_LINES = 8
_MOST_PIECES = 200
_PIECE_WORDS = frozenset({"", "pc", "piece", "pieces"})
#: Less than this is shown as nothing.
_CRUMB = Weight.of("0.01", WeightUnit.LB)
#: A number without a unit, as it may be typed.
_BARE = re.compile(r"[0-9.,/¼½¾ ]+")
_MOST_DEPOSIT = "100000"
_FIELD_OF = {"collect_at": "day", "deposit": "deposit", "way": "way", "by": "by",
             "name": "name"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Wish:
    """One row of a form: the line chosen and how much, as it was typed, bare numbers in `unit`."""

    cut: str
    amount: str
    unit: WeightUnit


@router.get("/free-by", response_class=HTMLResponse)
def show_free_by(request: Request, fields: Queried) -> HTMLResponse:
    """Show what may be promised for a day, and the answer to one wish."""
    room, faults = room_of(request), Faults()
    fields = _in_device_unit(request, fields)
    day, unit = _day(room, fields, faults), device_unit(request)
    asked = fields.one("cut") and fields.one("amount")
    answer = _answer(room, day, fields, faults, unit) if asked and not faults else None
    only = {fields.one("cut"), "" if answer is None else answer.cousin} - {"", None}
    rows = [one for one in room.shop.promising.free_by(day) if not only or one.case_id in only]
    lines = room.shop.case()
    return page(
        request, "free_by.html", status=422 if faults else 200, day=day, rows=rows, faults=faults,
        fields=fields, answer=answer, facts=_facts(room, answer, lines),
        cousin_amount=_cousin_amount(answer, unit), lines=lines,
        also={one.id: "; ".join(other_names(one.species, one.name)) for one in lines},
        is_open=_is_open(room, day), unit=str(unit),
        is_some=lambda weight: weight >= _CRUMB,
        # a kind of weight that no line has needs no column
        kinds=[kind for kind in ("case", "thaw", "plan", "rail")
               if any(getattr(one, kind) for one in rows)],
    )  # fmt: skip


def _facts(room: Room, answer: PromiseAnswer | None, lines: Iterable[CaseLine]) -> dict[str, Any]:
    """Return price, money and published minimum of what may be promised; nothing without a yes."""
    if answer is None or not answer.is_yes:
        return {}
    line = next(one for one in lines if one.id == answer.case_id)
    kind = cook_as_told(line)
    return {
        "price": line.price,
        "money": line.price.line(answer.weight, room.shop.settings().rounding),
        "minimum": None if kind == "none" else cook_minimum(kind),
    }


def _in_device_unit(request: Request, fields: Fields) -> Fields:
    """Return a query for this device: an amount typed in another unit is told with that unit."""
    sent, amount = sent_unit(request, fields), fields.one("amount")
    case = {line.id: line for line in room_of(request).shop.case()}
    line = case.get(fields.one("cut"))
    by_weight = line is not None and line.piece_lb is None
    if sent is device_unit(request) or not by_weight or not _BARE.fullmatch(amount):
        return fields
    return Fields([(name, text) for name, text in fields if name != "amount"]
                  + [("amount", f"{amount} {sent}")])  # fmt: skip


def _cousin_amount(answer: PromiseAnswer | None, unit: WeightUnit) -> str:
    """Return how much of the like line to ask for: so many pieces, or the weight that was asked."""
    if answer is None:
        return ""
    if answer.cousin_pieces is not None:
        return str(answer.cousin_pieces)
    return f"{answer.weight.decimal(unit, 3).normalize():f}"


def _is_open(room: Room, day: date) -> bool:
    return room.shop.settings().is_open(day)


def _next_open(room: Room) -> date:
    """Return the next open day after today, to begin with."""
    today = room.now().date()
    days = (today + timedelta(days=ahead) for ahead in range(1, 15))
    return next((one for one in days if _is_open(room, one)), today)


def _day(room: Room, fields: Fields, faults: Faults) -> date:
    first = _next_open(room)
    if not fields.one("day"):
        return first
    today = room.now().date()
    return faults.take("day", lambda: read_day(fields.one("day"), "Day", first=today), first)


def _answer(
    room: Room, day: date, fields: Fields, faults: Faults, unit: WeightUnit
) -> PromiseAnswer | None:
    case = {line.id: line for line in room.shop.case()}
    wish = Wish(fields.one("cut"), fields.one("amount"), unit)
    wished = faults.take("amount", lambda: _wished(room, case, wish, day), None)
    if wished is None:
        return None
    return room.shop.promising.answer(day, wish.cut, wished, unit=unit)


def _wished(room: Room, case: dict[str, CaseLine], wish: Wish, day: date) -> Weight:
    """Return the weight that is asked for.

    Whole pieces that are there but not to be had that day, such as frozen birds, are asked for by
    what they weigh, so that the answer can tell what may be had instead.

    Raises
    ------
    BadValue
        As `_read_line`, but of pieces only if there are not so many on any day.
    """
    line = case.get(wish.cut)
    if line is None or line.piece_lb is None:
        return _read_line(room, case, wish, day).weight
    count = _count(line, wish.amount)
    if len(line.piece_lb) < count or _may_be_had(room, line, count, day):
        return _read_line(room, case, wish, day).weight
    return Weight(sum(one.count for one in line.piece_lb[:count]), line.on_hand.unit)


def _may_be_had(room: Room, line: CaseLine, count: int, day: date) -> bool:
    (found,) = room.shop.promising.free_by(day, line.id)
    return len(_oldest(found, count)) >= count


def _count(line: CaseLine, amount: str) -> int:
    """Read how many pieces are asked for, or raise `BadValue`."""
    number, _, word = amount.partition(" ")
    if word.strip() not in _PIECE_WORDS:
        raise BadValue(f"{line.name} is sold by the piece; write how many, such as 2.")
    return read_whole(number, f"{line.name}, pieces", 1, _MOST_PIECES)


def _read_line(room: Room, case: dict[str, CaseLine], wish: Wish, day: date) -> NewLine:
    """Read one wish; goods sold by the piece are counted.

    Raises
    ------
    BadValue
        If the line is not on the board, or no amount was typed.
    """
    line = case.get(wish.cut)
    if line is None:
        raise BadValue("Cut: choose a cut of the list.")
    if line.piece_lb is None:
        if not wish.amount:
            raise BadValue(f"{line.name}: write how much, such as 2.5.")
        weight = parse_weight(wish.amount, wish.unit)
        if weight <= Weight.zero():
            raise BadValue(f"{line.name}: write how much, more than 0.")
        return NewLine(line.id, weight)
    count = _count(line, wish.amount)
    (found,) = room.shop.promising.free_by(day, line.id)
    pieces = _oldest(found, count)
    if len(pieces) < count:
        raise BadValue(f"{line.name}: {len(pieces)} pieces may be promised for {day:%A}, and"
                       f" {count} are asked; ask for fewer, or for another day.")  # fmt: skip
    return NewLine(line.id, Weight(sum(one.count for one in pieces), pieces[0].unit), pieces)


def _oldest(found: FreeBy, count: int) -> tuple[Weight, ...]:
    return tuple(part.weight for part in found.parts)[:count]


def _wishes(fields: Fields, unit: WeightUnit) -> list[Wish]:
    rows = range(1, FORM_LINES + 1)
    return [Wish(fields.one(f"cut{at}"), fields.one(f"amount{at}"), unit) for at in rows]


def read_lines(
    room: Room, fields: Fields, day: date, faults: Faults, *, unit: WeightUnit
) -> tuple[NewLine, ...]:  # fmt: skip
    """Read the lines of a booking form, ``cut1`` and ``amount1`` and so on; empty rows are none.

    Bare numbers of goods sold by weight are in `unit`.
    """
    case = {line.id: line for line in room.shop.case()}
    found = []
    for at, wish in enumerate(_wishes(fields, unit), start=1):
        if not wish.cut and not wish.amount:
            continue
        where = f"amount{at}" if wish.cut else f"cut{at}"

        def read(wish: Wish = wish) -> NewLine | None:
            return _read_line(room, case, wish, day)

        line = faults.take(where, read, None)
        if line is not None:
            found.append(line)
    if not found and not faults:
        faults.add("cut1", "Cut: choose at least one cut.")
    return tuple(found)


@router.get("/free-by/book", response_class=HTMLResponse)
def show_book(request: Request, fields: Queried) -> HTMLResponse:
    """Ask who collects what, and when."""
    room = room_of(request)
    fields = _in_device_unit(request, fields)
    day = _day(room, fields, Faults())
    known = [("day", day.isoformat()), ("time", "11:00"), ("cut1", fields.one("cut")),
             ("amount1", fields.one("amount"))]  # fmt: skip
    return _form(request, Fields(known), Faults())


def _form(
    request: Request, fields: Fields, faults: Faults, *, status: int = 200, trouble: str = ""
) -> HTMLResponse:
    room = room_of(request)
    return page(
        request, "free_by_book.html", status=status, fields=fields, faults=faults, trouble=trouble,
        lines=room.shop.case(), people=room.shop.people(), key=fields.one("key") or uuid4().hex,
        rows=range(1, FORM_LINES + 1), unit=str(sent_unit(request, fields)),
    )  # fmt: skip


@router.post("/free-by/book", response_class=HTMLResponse)
def book(request: Request, fields: Posted) -> Response:
    """Book for the date, or say what may be promised instead."""
    room, faults, unit = room_of(request), Faults(), sent_unit(request, fields)
    new = _read(room, fields, faults, unit)
    trouble = ""
    if new is not None:
        try:
            made = room.shop.promising.book(new, key=fields.one("key")[:64] or uuid4().hex)
        except BadValue as error:
            faults.add(_FIELD_OF.get(error.where, "cut1"), error.message)
        except ShopError as error:
            trouble = error.message
        else:
            return RedirectResponse(f"/hook/{made.id}?done=promised", status_code=303)
    # it may be refused for want of the very pieces that it took when it was first sent
    wished = {wish.cut: wish.amount for wish in _wishes(fields, unit)}
    before = made_before(room, fields, wished, unit)
    if before is not None:
        return RedirectResponse(f"/hook/{before.id}?done=promised", status_code=303)
    return _form(request, fields, faults, status=409 if trouble else 422, trouble=trouble)


def _read(room: Room, fields: Fields, faults: Faults, unit: WeightUnit) -> NewBooking | None:
    now, settings = room.now(), room.shop.settings()
    name = faults.take("name", lambda: read_name(fields.one("name"), "Name"), "")
    phone_end = faults.take("phone", lambda: read_phone_end(fields.one("phone")), "")
    day = faults.take(
        "day", lambda: read_day(fields.one("day"), "Collect on", first=now.date()), now.date()
    )
    at = faults.take("time", lambda: read_time(fields.one("time"), "Collect at"), now.time())
    if not faults and not settings.opens <= at <= settings.closes:
        faults.add("time", f"Collect at: the shop is open {settings.opens:%H:%M} to "
                           f"{settings.closes:%H:%M}; choose a time between.")  # fmt: skip
    if not faults and datetime.combine(day, at) < now:
        faults.add("time", f"Collect at: {at:%H:%M} is past; choose a time after {now:%H:%M}.")
    heads = None
    if fields.one("heads"):
        heads = faults.take("heads", lambda: read_whole(fields.one("heads"), "Heads", 1, 500), 0)
    lines = read_lines(room, fields, day, faults, unit=unit)
    deposit = faults.take("deposit", lambda: _deposit(fields, settings.currency), None)
    way = faults.take("way", lambda: read_deposit_way(fields, deposit), "")
    by = faults.take("by", lambda: read_who(room, fields), "")
    if faults:
        return None
    return NewBooking(
        name=name, phone_end=phone_end, collect_at=datetime.combine(day, at), by=by, heads=heads,
        lines=lines, note=fields.one("note")[:200], deposit=deposit, deposit_way=way,
    )  # fmt: skip


def _deposit(fields: Fields, currency: str) -> Money | None:
    text = fields.one("deposit")
    if not text or text == "0":
        return None
    return Money.of(read_amount(text, "Deposit", high=_MOST_DEPOSIT), currency)
