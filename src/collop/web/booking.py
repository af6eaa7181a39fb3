"""From a spread to a booking: hold the price, ask who and when, hang it on the hook."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from collop.errors import BadValue, ProblemError, ShopError
from collop.measures import Money, UnitPrice, Weight, WeightUnit
from collop.shop import NewBooking, NewLine, Quote
from collop.web.ask import answer_fields, plan_ask, plan_number, show_desk
from collop.web.ask_form import AVOIDS, Ask, read_ask
from collop.web.ask_steps import Step
from collop.web.ask_view import signature, spread_of
from collop.web.deposit import read_deposit_way
from collop.web.forms import (
    Faults,
    Fields,
    read_amount,
    read_choice,
    read_day,
    read_name,
    read_phone_end,
    read_time,
)
from collop.web.planning import collect_by_of
from collop.web.rendering import page
from collop.web.room import Posted, Room, fields_of_query, room_of

__all__ = ["router"]

router = APIRouter()
_STOCK_IS_OLD = timedelta(minutes=15)
#: Where the shop's refusals of a booking show.
_FIELD_OF = {"collect_at": "day", "deposit": "deposit", "way": "way", "by": "by"}


@router.post("/ask/quote", response_class=HTMLResponse)
def hold_price(request: Request, fields: Posted) -> Response:
    """Hold the price of the spread on the screen and go on to who and when."""
    room = room_of(request)
    asked, by_plan = fields_of_query(fields.one("ask")), plan_number(fields)
    ask, faults = read_ask(asked, room.now())
    if faults:
        return answer_fields(request, asked)
    try:
        plan = plan_ask(room, ask, by_plan)
    except ProblemError:
        return answer_fields(request, asked)
    spread = spread_of(plan, ask.aim)
    if spread is None:
        return show_desk(request, Step(ask), plan, was=[], status=409, by_plan=by_plan)
    trouble = _changed(fields, spread, room.now())
    if trouble:
        return show_desk(request, Step(ask, trouble), plan, was=[], status=409, second_yes=True,
                         by_plan=by_plan)  # fmt: skip
    currency = room.shop.settings().currency
    try:
        quote = room.shop.quote(
            _lines(spread, currency), ask=_asked(ask, spread), say=spread["say"], plan=spread,
            total=Money.of(spread["total"], currency), key=f"{_key(fields)}-{signature(spread)}",
        )  # fmt: skip
    except ShopError as error:
        return show_desk(request, Step(ask, error.message), plan, was=[], status=409,
                         by_plan=by_plan)  # fmt: skip
    return RedirectResponse(f"/ask/book/{quote.id}", status_code=303)


def _key(fields: Fields) -> str:
    """Return the key made when the page was shown; a form without one is sent once."""
    return fields.one("key")[:64] or uuid4().hex


def _changed(fields: Fields, spread: dict[str, Any], now: datetime) -> str:
    """Return why the screen must be looked at again before booking; empty if it is as it was."""
    if fields.one("seen") != signature(spread):
        return "The case changed while this was on the screen. This is the spread now: book again."
    try:
        read_at = datetime.fromisoformat(fields.one("stock_at"))
        age = now - read_at
    except (ValueError, TypeError):
        return ""
    if age > _STOCK_IS_OLD:
        minutes = int(age.total_seconds() // 60)
        return (f"The stock on the screen was {minutes} minutes old and has been read again. "
                "Nothing changed: say yes a second time to book.")  # fmt: skip
    return ""


def _lines(spread: dict[str, Any], currency: str) -> tuple[NewLine, ...]:
    return tuple(
        NewLine(
            case_id=line["id"],
            weight=Weight.of(line["weight_lb"], WeightUnit.LB),
            pieces=tuple(Weight.of(piece, WeightUnit.LB) for piece in line["pieces"])
            if line["pieces"]
            else None,
            style=line["style"],
            unit_price=UnitPrice.of(line["price_per_lb"], WeightUnit.LB, currency),
        )
        for line in spread["lines"]
    )


def _asked(ask: Ask, spread: dict[str, Any]) -> dict[str, Any]:
    """Return what is kept of the ask with the quote and the booking."""
    return {
        "query": ask.query(),
        "heads": ask.heads.planned,
        "use_at": f"{ask.use_at:%Y-%m-%dT%H:%M}",
        "contains": list(ask.contains),
        "avoids": sorted({tag for avoid in ask.avoids for tag in AVOIDS[avoid.what]}),
        "dont_eats": [f"{avoid.count} no {avoid.what}" for avoid in ask.avoids],
        "meat_free": ask.meat_free,
        "child": ask.child,
        "big": ask.big,
        "aim": spread["aim"],
        "collect_by": spread.get("collect_by"),
    }


@router.get("/ask/book/{quote_id}", response_class=HTMLResponse)
def show_booking_form(request: Request, quote_id: str) -> Response:
    """Show the held lines and ask who collects and when."""
    room = room_of(request)
    quote = room.shop.quote_by_id(quote_id)
    return _form(request, quote, Fields(_carried(room, quote)), Faults())


def _carried(room: Room, quote: Quote) -> list[tuple[str, str]]:
    """Return what is known already: when to collect so that the fire can be ready for the meal.

    The last half hour in opening hours before the fire asks for it, on an earlier day if need be;
    two hours before the meal where nothing is known of the fire, or where it is too late for that.
    """
    by = collect_by_of(quote.ask)
    usual = datetime.fromisoformat(quote.ask["use_at"]) - timedelta(hours=2)
    at = _open_hour(room, usual if by is None else by)
    if at < room.now():
        at = _open_hour(room, usual)
    return [("day", at.date().isoformat()), ("time", f"{at:%H:%M}")]


def _open_hour(room: Room, at: datetime) -> datetime:
    """Return the last half hour in opening hours at or before `at`, from today on."""
    settings, today = room.shop.settings(), room.now().date()
    day = at.date()
    while day > today and (not settings.is_open(day) or datetime.combine(day, settings.opens) > at):
        day -= timedelta(days=1)
    latest = datetime.combine(day, settings.closes) - timedelta(minutes=30)
    earliest = datetime.combine(day, settings.opens)
    return min(max(at - timedelta(minutes=at.minute % 30), earliest), latest)


def _form(
    request: Request, quote: Quote, fields: Fields, faults: Faults, *,
    status: int = 200, trouble: str = "",
) -> HTMLResponse:  # fmt: skip
    room = room_of(request)
    return page(
        request, "book.html", status=status, quote=quote, fields=fields, faults=faults,
        people=room.shop.people(), key=fields.one("key") or uuid4().hex, trouble=trouble,
        lapsed=quote.has_lapsed(room.now()), today=room.now().date(),
        collect_by=collect_by_of(quote.ask), meal=datetime.fromisoformat(quote.ask["use_at"]),
        waits=room.shop.promising.would_take((one.case_id, one.weight) for one in quote.lines),
    )  # fmt: skip


@router.post("/ask/book/{quote_id}", response_class=HTMLResponse)
def book(request: Request, quote_id: str, fields: Posted) -> Response:
    """Hang the order on the hook; weights leave the free stock."""
    room = room_of(request)
    quote = room.shop.quote_by_id(quote_id)
    new, faults = _read_booking(room, quote, fields)
    if faults or new is None:
        return _form(request, quote, fields, faults, status=422)
    try:
        made = room.shop.book(
            new, key=_key(fields), quote_id=quote.id,
            accept_new_price=fields.one("accept") == "new-price",
        )  # fmt: skip
    except BadValue as error:
        faults.add(_FIELD_OF.get(error.where, "name"), error.message)
        return _form(request, quote, fields, faults, status=422)
    except ShopError as error:
        return _form(request, quote, fields, faults, status=409, trouble=error.message)
    return RedirectResponse(f"/hook/{made.id}?done=booked", status_code=303)


def _read_booking(room: Room, quote: Quote, fields: Fields) -> tuple[NewBooking | None, Faults]:
    faults = Faults()
    now = room.now()
    settings = room.shop.settings()
    people = [person.id for person in room.shop.people()]
    name = faults.take("name", lambda: read_name(fields.one("name"), "Name"), "")
    phone_end = faults.take("phone", lambda: read_phone_end(fields.one("phone")), "")
    day = faults.take(
        "day", lambda: read_day(fields.one("day"), "Collect on", first=now.date()), now.date()
    )
    at = faults.take("time", lambda: read_time(fields.one("time"), "Collect at"), now.time())
    by = faults.take("by", lambda: _read_who(fields.one("by"), people), "")
    deposit = faults.take("deposit", lambda: _read_deposit(fields, quote), None)
    way = faults.take("way", lambda: read_deposit_way(fields, deposit), "")
    collect_at = datetime.combine(day, at)
    if not faults and collect_at < now:
        faults.add("time", f"Collect at: {at:%H:%M} is past; choose a time after {now:%H:%M}.")
    if not faults and not settings.is_open(day):
        faults.add("day", f"Collect on: the shop is shut on {day:%A %d %B}; choose an open day.")
    if not faults and not settings.opens <= at <= settings.closes:
        faults.add("time", f"Collect at: the shop is open {settings.opens:%H:%M} to "
                           f"{settings.closes:%H:%M}; choose a time between.")  # fmt: skip
    if faults:
        return None, faults
    return NewBooking(
        name=name, phone_end=phone_end, collect_at=collect_at, by=by,
        heads=quote.ask.get("heads"), ask=quote.ask,
        lines=tuple(NewLine(line.case_id, line.weight, line.pieces, line.style, line.unit_price)
                    for line in quote.lines),
        note=fields.one("note")[:200], deposit=deposit, deposit_way=way,
    ), faults  # fmt: skip


def _read_who(text: str, people: list[str]) -> str:
    if not text:
        raise BadValue("Taken by: choose who takes this booking.")
    return read_choice(text, "Taken by", people)


def _read_deposit(fields: Fields, quote: Quote) -> Money | None:
    text = fields.one("deposit")
    if not text or text == "0":
        return None
    amount = read_amount(text, "Deposit", high=str(max(quote.total.decimal(), Decimal("0.01"))))
    return Money.of(amount, quote.total.currency)
