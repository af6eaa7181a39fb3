"""Tickets at the glass: which one a scanner means, and whether its pack may be sold.

A ticket is sold once: on a sale that names it, or with the booking its pack was made for.
"""

from __future__ import annotations

import re
from collections.abc import Collection
from decimal import Decimal

from sqlalchemy import String, cast, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound, WrongState
from collop.measures import Money
from collop.shop.acts import Act
from collop.shop.hook import booking_id
from collop.shop.model import Settings, State
from collop.shop.quotes import number_in
from collop.shop.selling_model import NewSale
from collop.shop.tables import booking_events, booking_lines, bookings, slip_lines
from collop.shop.ticket_keeping import load_ticket, tickets_of_total
from collop.shop.ticket_model import Ticket
from collop.ticket.variable import read_variable

__all__ = ["sold_as", "ticket_meant", "ticket_to_sell"]

_LONGEST = 120
# what a reader says before a code (AIM identifiers), and how its digits are parted
_BESIDE = re.compile(r"^\](?:E0|E4)|[ -]")
# a weighed pack's number begins with 2, as 12 digits or as 13 with a leading 0
_TILL = re.compile(r"(?:2[0-9]{11}|02[0-9]{11})")
# the square code of a ticket: its number and its lot
_SQUARE = re.compile(r"(?:\][A-Za-z][0-9])?([Tt][0-9]{1,16}) (\S{1,60})")


def sold_as(conn: Connection, ticket: Ticket) -> str | None:
    """Return the sale or booking a ticket was sold on; None if its pack is still here.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    ticket : Ticket
        As it is kept.
    """
    if ticket.booking_line is not None:
        name, _, position = ticket.booking_line.partition("-")
        number = number_in("H", name, "booking")
        went = (
            select(slip_lines.c.weighed)
            .join(booking_lines, booking_lines.c.id == slip_lines.c.booking_line_id)
            .where(booking_lines.c.booking_number == number,
                   booking_lines.c.position == int(position))
        )  # fmt: skip
        return name if conn.scalar(went) else None
    ask, kind = cast(bookings.c.ask, String), bookings.c.kind
    # with its name: a packing may be called as a ticket is
    told = ask.contains(f'"ticket": "{ticket.id}"')
    wanted = (kind == "counter", bookings.c.made_at >= ticket.at, told)
    found = conn.scalar(select(bookings.c.number).where(*wanted).limit(1))
    return None if found is None else booking_id(found)


def _of_booking(conn: Connection, ticket: Ticket, where: str) -> WrongState:
    """Return why the pack of a booking is not sold at the glass."""
    name = str(ticket.booking_line).partition("-")[0]
    state = conn.scalar(
        select(booking_events.c.state)
        .where(booking_events.c.booking_number == number_in("H", name, "booking"))
        .order_by(booking_events.c.seq.desc())
        .limit(1)
    )
    if state == State.OFF:
        said = f"was for {name}, which is off; weigh the pack again for the case"
    elif state == State.GONE:
        said = f"was for {name}, which went without it; weigh the pack again"
    else:
        said = f"is for {ticket.booking_line}; hand that booking over instead"
    return WrongState(f"{ticket.id} {said}.", where=where)


def ticket_to_sell(act: Act, sale: NewSale, where: str) -> Ticket:
    """Return the ticket on a sale, if its pack may be sold and it says the same.

    Parameters
    ----------
    act : Act
        Its connection and settings; nothing is written.
    sale : NewSale
        A line with a ticket.
    where : str
        Path of the line, for messages.

    Raises
    ------
    NotFound
        If there is no such ticket.
    WrongState
        If it is void, sold, or for a booking.
    BadValue
        If the line says another cut or weight than the ticket.
    """
    found = load_ticket(act.conn, number_in("T", sale.ticket or "", "ticket"), act.settings)
    if found.void is not None:
        raise WrongState(f"{found.id} is void ({found.void.why}); weigh the pack again.",
                         where=where)  # fmt: skip
    sold = sold_as(act.conn, found)
    if sold is not None:
        raise WrongState(f"{found.id} was sold already, on {sold}; weigh the pack again.",
                         where=where)  # fmt: skip
    if found.booking_line is not None:
        raise _of_booking(act.conn, found, where)
    if sale.case_id not in {"", found.case_id} or (
        sale.net is not None and sale.net.count != found.net.count
    ):
        raise BadValue(
            f"{found.id} says {found.net.text()} of {found.name} ({found.case_id}); sell what it"
            " says, or leave the ticket out.",
            where=where,
        )
    return found


def ticket_meant(
    conn: Connection, text: str, chosen: Settings, *, besides: Collection[str] = ()
) -> str:
    """Return the id of the ticket somebody typed, or a scanner read off a pack.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    text : str
        ``T12``; the square code, number and lot; or a till code, item and money in 12 or 13 digits.
    chosen : Settings
        Its currency is that of the money.
    besides : collection of str
        Tickets on the sale already: of packs with equal till codes the next one is meant.

    Raises
    ------
    BadValue
        If the digits of a till code are wrong, a square code names another lot, or packs of
        different lots or weights bear the same till code.
    NotFound
        If no ticket says so.
    """
    plain = text.strip()[:_LONGEST]
    square = _SQUARE.fullmatch(plain)
    if square is not None:
        found = load_ticket(conn, number_in("T", square[1], "ticket"), chosen)
        if found.lot.casefold() != square[2].casefold():
            raise BadValue(f"{found.id} is of lot {found.lot}, not {square[2][:40]}; look at the"
                           " pack and scan it again.", where="ticket")  # fmt: skip
        return found.id
    digits = _BESIDE.sub("", plain)
    if _TILL.fullmatch(digits):
        told = read_variable(digits)
        return _of_till_code(conn, told.item, told.amount, chosen, besides)
    return f"T{number_in('T', plain.replace(' ', ''), 'ticket')}"


def _of_till_code(
    conn: Connection, item: str, amount: Decimal, chosen: Settings, besides: Collection[str]
) -> str:
    money = Money.of(amount, chosen.currency)
    kept = [one for one in tickets_of_total(conn, money, chosen)
            if one.problem["product"].get("item") == item]  # fmt: skip
    here = [one for one in kept
            if one.void is None and one.booking_line is None and one.id not in besides
            and sold_as(conn, one) is None]  # fmt: skip
    if not here:
        if kept:  # the last of them says why
            return kept[-1].id
        raise NotFound(f"No ticket here says item {item} and {money}; weigh the pack and touch its"
                       " cut.", where="ticket")  # fmt: skip
    if len({(one.lot, one.net.count) for one in here}) > 1:
        named = ", ".join(one.id for one in here[:6])
        raise BadValue(f"This till code is on {named}, of different lots; type the number of the"
                       " ticket, or scan its square code.", where="ticket")  # fmt: skip
    return here[0].id
