"""Booking: weight is promised inside the writing transaction, so never more than is free."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import func, insert, select

from collop.errors import BadValue, QuoteLapsed, WrongState
from collop.measures import Money, UnitPrice, Weight, sum_money
from collop.shop.acts import Act, Room, once
from collop.shop.board import price_text
from collop.shop.hook import booking_id, load_booking
from collop.shop.ledger import Pick, move
from collop.shop.lines import HeldPrice, at_board, checked_lines, line_row, parts_by_price
from collop.shop.model import Booking, NewBooking, NewLine, Quote, QuoteLine, Settings, State
from collop.shop.payments import DEPOSIT_WAYS, write_payment
from collop.shop.picking import pick
from collop.shop.quotes import checked_json, load_quote, number_in
from collop.shop.releasing import release_lines
from collop.shop.settings import load_settings
from collop.shop.tables import booking_events, booking_lines, bookings

__all__ = [
    "add_lines", "begin_booking", "book", "book_in", "enter", "note_event", "put_down", "rebook",
]  # fmt: skip

_MOST_HEADS = 100_000
#: What a booking can be; a sale at the glass is one that goes at once.
KINDS = ("order", "counter", "standing", "freezer")


@dataclass(frozen=True, slots=True)
class Terms:
    """At which prices a booking is made."""

    quote_id: str | None = None
    accept_new_price: bool = False


def note_event(act: Act, number: int, what: str, state: State, why: str = "") -> None:
    """Write what happened to a booking; its state is that of the last such row."""
    act.conn.execute(
        insert(booking_events).values(
            booking_number=number, what=what, state=state.value, at=act.at, why=why[:200],
            by_id=act.by, key=act.key,
        )
    )  # fmt: skip


def _next_open(day: datetime, chosen: Settings) -> str:
    for later in range(1, 60):
        found = day.date() + timedelta(days=later)
        if chosen.is_open(found):
            return f"{found:%A} {found.day} {found:%B}"
    return "another day"


def _checked_day(new: NewBooking, act: Act) -> None:
    when = new.collect_at
    if when.tzinfo is not None:
        raise BadValue("The collection time is shop-local; leave the zone out.", where="collect_at")
    if when.date() < act.at.date():
        raise BadValue(f"{when:%A} {when.day} {when:%B} is over; choose a day from today on.",
                       where="collect_at")  # fmt: skip
    if not act.settings.is_open(when.date()):
        raise BadValue(
            f"The shop is shut on {when:%A} {when.day} {when:%B}; the next open day is"
            f" {_next_open(when, act.settings)}.",
            where="collect_at",
        )


def _checked_facts(new: NewBooking, act: Act) -> Money:
    """Check everything but the lines and return the deposit."""
    if not 1 <= len(new.name.strip()) <= 120:
        raise BadValue("A booking needs a name of 1 to 120 characters.", where="name")
    if len(new.note) > 2000:
        raise BadValue("The note is longer than 2000 characters; shorten it.", where="note")
    if new.heads is not None and not 1 <= new.heads <= _MOST_HEADS:
        raise BadValue(f"heads is {new.heads}; it must be from 1 to {_MOST_HEADS}.", where="heads")
    if new.state not in {State.ASKED, State.BOOKED}:
        raise BadValue("A new booking is asked or booked.", where="state")
    if new.kind not in KINDS:
        raise BadValue(f"{new.kind[:20]!r} is no kind of booking; use one of {', '.join(KINDS)}.",
                       where="kind")  # fmt: skip
    deposit = new.deposit or Money(0, act.settings.currency)
    if deposit.currency != act.settings.currency or not 0 <= deposit.minor <= 10**12:
        raise BadValue(
            f"The deposit must be zero or more, in {act.settings.currency}.", where="deposit"
        )
    _check_way(new.deposit_way, deposit)
    return deposit


def _check_way(way: str, deposit: Money) -> None:
    """Check how a deposit was paid, as far as that is told."""
    if way and way not in DEPOSIT_WAYS:
        raise BadValue(f"A deposit is not paid by {way[:20]!r}; use one of"
                       f" {', '.join(DEPOSIT_WAYS)}.", where="way")  # fmt: skip
    if way and not deposit.minor:
        raise BadValue("How the deposit was paid is told, but not how much; write its sum.",
                       where="deposit")  # fmt: skip


def enter(act: Act, new: NewBooking, quote: Quote | None, number: int | None) -> int:
    """Write a booking without its lines and return its number."""
    deposit = _checked_facts(new, act)
    # counted here, so that every kind of database gives the same numbers
    last: int = act.conn.scalar(select(func.max(bookings.c.number))) or 0
    values = {
        "number": number or last + 1,
        "name": new.name.strip(),
        "phone_end": re.sub(r"[^0-9]", "", new.phone_end)[-4:],
        "collect_at": new.collect_at,
        "heads": new.heads,
        "ask": checked_json(new.ask, "ask"),
        "note": new.note,
        "deposit": deposit.minor,
        "quote_number": number_in("Q", quote.id, "quote") if quote else None,
        "kind": new.kind,
        "made_at": act.at,
        "by_id": act.by,
        "key": act.key,
    }
    found = act.conn.execute(insert(bookings).values(values)).inserted_primary_key
    assert found is not None
    note_event(act, int(found[0]), "book", new.state)
    if new.deposit_way:
        write_payment(act, int(found[0]), "deposit", new.deposit_way, deposit)
    return int(found[0])


def _insert_line(act: Act, number: int, position: int, line: QuoteLine, part: list[Pick]) -> None:
    row = line_row(line, position) | {"booking_number": number}
    key = act.conn.execute(insert(booking_lines).values(row)).inserted_primary_key
    assert key is not None
    move(act, part, ("case", "booked"), "booked", int(key[0]))


def put_down(
    act: Act, number: int, board: QuoteLine, picks: list[Pick], held: Sequence[HeldPrice] = ()
) -> None:
    """Promise what was picked of a line to a booking; `board` is the line at the price of now.

    What a held price covers is a line of its own.
    """
    last = select(func.max(booking_lines.c.position)).where(
        booking_lines.c.booking_number == number
    )
    position = act.conn.scalar(last) or 0
    for price, part in parts_by_price(board.case_id, picks, held, board.unit_price):
        position += 1
        _insert_line(act, number, position, _part_line(act, board, price, part), part)


def reserve(
    act: Act, number: int, lines: Sequence[NewLine], held: Sequence[HeldPrice] = ()
) -> None:
    """Promise `lines` to a booking: pieces or weight leave free stock for the place ``booked``.

    Raises
    ------
    NotEnoughFree
        If any line asks for more than is free; then nothing of the whole act is kept.
    """
    for wish, board in zip(lines, at_board(act, lines), strict=True):
        put_down(act, number, board, pick(act, wish.case_id, wish.weight, wish.pieces), held)


def _part_line(act: Act, line: QuoteLine, price: UnitPrice, part: list[Pick]) -> QuoteLine:
    unit = line.weight.unit
    weight = Weight(sum(one.count for one in part), unit)
    whole = part[0].piece_id is not None
    return QuoteLine(
        case_id=line.case_id,
        name=line.name,
        weight=weight,
        pieces=tuple(Weight(one.count, unit) for one in part) if whole else None,
        style=line.style,
        unit_price=price,
        line_total=price.line(weight, act.settings.rounding),
    )


def _as_wishes(quote: Quote) -> tuple[NewLine, ...]:
    return tuple(
        NewLine(line.case_id, line.weight, line.pieces, line.style, line.unit_price)
        for line in quote.lines
    )


def _unused(act: Act, quote: Quote) -> None:
    number = number_in("Q", quote.id, "quote")
    query = select(bookings.c.number).where(bookings.c.quote_number == number)
    for row in act.conn.execute(query).all():
        if load_booking(act.conn, row.number, act.settings).state is not State.OFF:
            raise WrongState(
                f"{quote.id} was already booked as {booking_id(row.number)}; quote again.",
                where="quote",
            )


def _new_total(act: Act, lines: Sequence[NewLine]) -> Money:
    totals = (line.line_total for line in at_board(act, lines))
    return sum_money(totals, act.settings.currency)


def _held_prices(act: Act, quote: Quote, lines: Sequence[NewLine], terms: Terms) -> list[HeldPrice]:
    _unused(act, quote)
    if not quote.has_lapsed(act.at):
        return [HeldPrice(one.case_id, one.unit_price, one.weight.count) for one in quote.lines]
    if not terms.accept_new_price:
        raise QuoteLapsed(
            f"{quote.id} was held until {quote.held_until:%H:%M}; at today's board the total is"
            f" {_new_total(act, lines)}, and {quote.total} was quoted: ask whether the new price"
            " is accepted.",
            where="quote",
        )
    return []


def _seen_prices(act: Act, lines: Sequence[NewLine]) -> None:
    """Refuse lines whose price the customer saw is not the board's any more."""
    for wish, board in zip(lines, at_board(act, lines), strict=True):
        if wish.unit_price is not None and wish.unit_price != board.unit_price:
            raise QuoteLapsed(
                f"{board.name} is {board.unit_price.amount} a {board.unit_price.per} on the board"
                f" now, not {wish.unit_price.amount}; the total is {_new_total(act, lines)}: ask"
                " whether the new price is accepted.",
                where=board.case_id,
            )


@dataclass(frozen=True, slots=True)
class Begun:
    """A booking that is entered: its number, the lines to promise, and prices held for them."""

    number: int
    lines: tuple[NewLine, ...]
    held: list[HeldPrice]


def begin_booking(act: Act, new: NewBooking, terms: Terms, number: int | None = None) -> Begun:
    """Check a new booking and enter it without its lines; they are yet to be promised.

    Raises
    ------
    QuoteLapsed, WrongState, BadValue, NotFound
        As for `book`.
    """
    _checked_day(new, act)
    quote = None
    if terms.quote_id is not None:
        quote_number = number_in("Q", terms.quote_id, "quote")
        quote = load_quote(act.conn, quote_number, act.settings.currency)
    lines = checked_lines(new.lines or (_as_wishes(quote) if quote else ()))
    held: list[HeldPrice] = []
    if quote is not None:
        held = _held_prices(act, quote, lines, terms)
    elif not terms.accept_new_price:
        _seen_prices(act, lines)
    return Begun(enter(act, new, quote, number), lines, held)


def book_in(act: Act, new: NewBooking, terms: Terms, number: int | None = None) -> int:
    """Book within an act and return the booking's number."""
    begun = begin_booking(act, new, terms, number)
    reserve(act, begun.number, begun.lines, begun.held)
    return begun.number


def _read_back(room: Room, answer: str) -> Booking:
    with room.store.read() as conn:
        return load_booking(conn, number_in("H", answer, "booking"), load_settings(conn))


def book(
    room: Room,
    new: NewBooking,
    *,
    key: str,
    quote_id: str | None = None,
    accept_new_price: bool = False,
) -> Booking:
    """Book an order, all of it or nothing.

    With a quote still held, its prices cover its weights, and anything beyond is a line of its
    own at the board. Without lines the quote's own are booked.

    Raises
    ------
    NotEnoughFree
        If a line asks for more than is free.
    QuoteLapsed
        If the price the customer saw no longer holds and `accept_new_price` is not given.
    BadValue
        If the day is over or the shop is shut, or a field is out of range.
    """
    terms = Terms(quote_id, accept_new_price)

    def work(act: Act) -> str:
        return booking_id(book_in(act, new, terms))

    return _read_back(room, once(room, "book", [new, terms], by=new.by, key=key, work=work))


def _what_was_added(act: Act, before: Booking) -> str:
    """Return the new lines of a booking with their prices, and its total against that before."""
    now = load_booking(act.conn, number_in("H", before.id, "booking"), act.settings)
    known = {line.id for line in before.lines}
    added = ", ".join(
        f"{line.weight.text()} of {line.name} at {price_text(line.unit_price)}"
        for line in now.lines
        if line.id not in known
    )
    return f"{now.total} instead of {before.total}, for {added}"


def add_lines(
    room: Room,
    name: str,
    lines: Sequence[NewLine],
    *,
    by: str,
    key: str,
    accept_new_price: bool = False,
    total: Money | None = None,
) -> Booking:
    """Add lines to a booking at the board of now; the lines it has keep their prices.

    What was added and what the total became is kept with the booking's events.

    Raises
    ------
    WrongState
        If the booking is cut, packed, gone or off, or no longer comes to `total`, which the
        customer has seen.
    NotEnoughFree
        If a line asks for more than is free.
    QuoteLapsed
        If a line names a price that is not the board's and `accept_new_price` is not given.
    """
    number = number_in("H", name, "booking")
    lines = checked_lines(lines)

    def work(act: Act) -> str:
        before = load_booking(act.conn, number, act.settings)
        if before.state not in {State.ASKED, State.BOOKED}:
            raise WrongState(f"{before.id} is {before.state}; book the rest by itself.")
        if total is not None and total != before.total:
            raise WrongState(f"{before.id} comes to {before.total} now, not {total}: it was changed"
                             " meanwhile; look at it again.")  # fmt: skip
        if not accept_new_price:
            _seen_prices(act, lines)
        reserve(act, number, lines)
        note_event(act, number, "add", before.state, _what_was_added(act, before))
        return before.id

    request = [number, lines, accept_new_price, *([] if total is None else [total])]
    return _read_back(room, once(room, "add", request, by=by, key=key, work=work))


def rebook(
    room: Room,
    name: str,
    new: NewBooking,
    *,
    key: str,
    quote_id: str | None = None,
    accept_new_price: bool = False,
) -> Booking:
    """Take one booking off and book `new` in its place, both or neither.

    Raises
    ------
    WrongState
        If the old booking has gone or is off.
    NotEnoughFree, QuoteLapsed, BadValue
        As for `book`; the old booking then stands as it was.
    """
    number = number_in("H", name, "booking")
    terms = Terms(quote_id, accept_new_price)

    def work(act: Act) -> str:
        old = load_booking(act.conn, number, act.settings)
        if not old.state.holds:
            raise WrongState(f"{old.id} is {old.state}; make a new booking.")
        release_lines(act, number)
        made = booking_id(book_in(act, new, terms))
        note_event(act, number, "release", State.OFF, f"{made} in its place")
        return made

    request = [number, new, terms]
    return _read_back(room, once(room, "rebook", request, by=new.by, key=key, work=work))
