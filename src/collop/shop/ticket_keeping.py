"""Printing tickets: kept as they were printed, printed again, made void; read back.

A ticket moves no stock: selling does. Its number is given when it is printed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, datetime, time

from sqlalchemy import ColumnElement, func, insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Money, Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.board import price_from
from collop.shop.day_tables import ticket_events, tickets
from collop.shop.hook import booking_id
from collop.shop.model import Settings
from collop.shop.store import AnyRow
from collop.shop.tables import booking_lines, bookings, case_lines
from collop.shop.ticket_draft import check_fits, make_draft
from collop.shop.ticket_model import NewTicket, Ticket, TicketEvent, ticket_id

__all__ = ["load_ticket", "note_again", "print_ticket", "tickets_of_booking", "tickets_of_day",
           "tickets_of_lot", "tickets_of_total", "void_ticket"]  # fmt: skip

_LONGEST_WHY = 200
_MOST_SHOWN = 2000


def print_ticket(act: Act, new: NewTicket, *, look: bool = True) -> int:
    """Keep a ticket as it is printed and return its number.

    Parameters
    ----------
    act : Act
        The write in progress.
    new : NewTicket
        What somebody wants.
    look : bool
        Whether it is made sure that the ticket has room on its form.

    Raises
    ------
    BadValue
        If anything is missing, all of it in one sentence, or a figure cannot be.
    NotFound, WrongState
        If there is no such line, lot or tare, or it may not be sold.
    """
    # counted here, so that every kind of database gives the same numbers
    number = int(act.conn.scalar(select(func.max(tickets.c.number))) or 0) + 1
    draft = make_draft(act.conn, act.at, act.settings, new, number=number)
    if draft.plan is None:
        raise BadValue(draft.why_not(), where=draft.missing[0].element)
    if look:
        check_fits(draft.plan)
    price = draft.problem["price"]
    values = {
        "number": number, "case_id": new.case_id, "lot_id": new.lot,
        "booking_line_id": draft.line_row,
        "net": _count(draft.plan["net"], act.settings),
        "tare": _count(draft.plan["tare"], act.settings),
        "unit": act.settings.legal_unit.value, "price_amount": price["amount"],
        "price_per": price["per"],
        "total": Money.of(draft.plan["total"], act.settings.currency).minor,
        "problem": dict(draft.problem), "at": act.at, "by_id": act.by, "key": act.key,
    }  # fmt: skip
    act.conn.execute(insert(tickets).values(values))
    _note(act, number, "printed", "")
    return number


def _count(text: str, chosen: Settings) -> int:
    return Weight.of(text, chosen.legal_unit).count


def _note(act: Act, number: int, what: str, why: str) -> None:
    act.conn.execute(
        insert(ticket_events).values(
            ticket_number=number, what=what, why=why, at=act.at, by_id=act.by, key=act.key
        )
    )


def note_again(act: Act, number: int) -> None:
    """Write that a ticket is printed once more, as it was.

    Raises
    ------
    NotFound
        If there is none of that number.
    WrongState
        If it is void.
    """
    found = load_ticket(act.conn, number, act.settings)
    if found.void is not None:
        raise WrongState(f"{found.id} is void ({found.void.why}); make a new ticket for the pack.")
    _note(act, number, "printed", "again")


def void_ticket(act: Act, number: int, why: str) -> None:
    """Make a ticket void; it stays on record with the reason.

    Raises
    ------
    BadValue
        If no reason is given.
    NotFound
        If there is none of that number.
    WrongState
        If it is void already.
    """
    plain = why.strip()
    if not 1 <= len(plain) <= _LONGEST_WHY or not plain.isprintable():
        raise BadValue(f"Say why the ticket is void, in 1 to {_LONGEST_WHY} letters.", where="why")
    found = load_ticket(act.conn, number, act.settings)
    if found.void is not None:
        raise WrongState(f"{found.id} is void already: {found.void.why}.")
    _note(act, number, "void", plain)


def _events(conn: Connection, numbers: Sequence[int]) -> dict[int, list[TicketEvent]]:
    rows = conn.execute(
        select(ticket_events)
        .where(ticket_events.c.ticket_number.in_(numbers))
        .order_by(ticket_events.c.seq)
    )
    found: dict[int, list[TicketEvent]] = defaultdict(list)
    for row in rows:
        event = TicketEvent(row.what, row.why, row.at, row.by_id)
        found[row.ticket_number].append(event)
    return found


def _read(row: AnyRow, events: Sequence[TicketEvent], currency: str) -> Ticket:
    unit = WeightUnit(row.unit)
    line = None if row.position is None else f"{booking_id(row.booking_number)}-{row.position}"
    return Ticket(
        number=row.number, case_id=row.case_id, name=row.name, lot=row.lot_id, booking_line=line,
        net=Weight(row.net, unit), tare=Weight(row.tare, unit),
        price=price_from(row.price_amount, row.price_per, currency),
        total=Money(row.total, currency), at=row.at, by=row.by_id, problem=row.problem,
        events=tuple(events),
    )  # fmt: skip


def _chosen(
    conn: Connection, chosen: Settings, *conditions: ColumnElement[bool]
) -> tuple[Ticket, ...]:
    rows = conn.execute(
        select(tickets, case_lines.c.name, booking_lines.c.booking_number, booking_lines.c.position)
        .join(case_lines, case_lines.c.id == tickets.c.case_id)
        .outerjoin(booking_lines, booking_lines.c.id == tickets.c.booking_line_id)
        .where(*conditions)
        .order_by(tickets.c.number.desc())
        .limit(_MOST_SHOWN)
    ).all()
    events = _events(conn, [row.number for row in rows])
    return tuple(_read(row, events[row.number], chosen.currency) for row in reversed(rows))


def load_ticket(conn: Connection, number: int, chosen: Settings) -> Ticket:
    """Return one ticket.

    Raises
    ------
    NotFound
        If there is none of that number.
    """
    found = _chosen(conn, chosen, tickets.c.number == number)
    if not found:
        raise NotFound(f"There is no ticket {ticket_id(number)}; look at the tickets of the day.",
                       where="ticket")  # fmt: skip
    return found[0]


def tickets_of_lot(conn: Connection, lot: str, chosen: Settings) -> tuple[Ticket, ...]:
    """Return the tickets of a lot, oldest first, at most the last 2000."""
    return _chosen(conn, chosen, tickets.c.lot_id == lot)


def tickets_of_booking(conn: Connection, number: int, chosen: Settings) -> tuple[Ticket, ...]:
    """Return the tickets of a booking, oldest first.

    Raises
    ------
    NotFound
        If there is no such booking.
    """
    if conn.scalar(select(bookings.c.number).where(bookings.c.number == number)) is None:
        raise NotFound(f"There is no booking {booking_id(number)}; look it up by name.",
                       where="booking")  # fmt: skip
    return _chosen(conn, chosen, booking_lines.c.booking_number == number)


def tickets_of_day(conn: Connection, day: date, chosen: Settings) -> tuple[Ticket, ...]:
    """Return the tickets printed first on a day, oldest first, at most the last 2000."""
    span = (datetime.combine(day, time.min), datetime.combine(day, time.max))
    return _chosen(conn, chosen, tickets.c.at.between(*span))


def tickets_of_total(conn: Connection, total: Money, chosen: Settings) -> tuple[Ticket, ...]:
    """Return the tickets that say a sum of money, oldest first, at most the last 2000."""
    return _chosen(conn, chosen, tickets.c.total == total.minor)
