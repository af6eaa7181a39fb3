"""Money that is not settled at the end of a day, for the lock-up."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.measures import Money
from collop.shop.model import Settings, State
from collop.shop.payments import money_of
from collop.shop.tables import booking_events, slips

__all__ = ["owed_by_day", "unpaid_of_day"]


def unpaid_of_day(
    conn: Connection, day: date, chosen: Settings
) -> tuple[tuple[str, str, Money], ...]:
    """Return the bookings that went on `day` with money open: id, name, and what is open.

    What was put on account is noted, so it is not open.
    """
    start = datetime.combine(day, time.min)
    rows = conn.execute(
        select(slips.c.booking_number)
        .where(slips.c.at >= start, slips.c.at < start + timedelta(days=1))
        .order_by(slips.c.number)
    )
    found = money_of(conn, [row.booking_number for row in rows], chosen)
    return tuple(
        (one.booking_id, one.name, one.open) for one in found.values() if one.open.minor > 0
    )


def owed_by_day(
    conn: Connection, first: date, day: date, chosen: Settings
) -> tuple[tuple[str, str, Money], ...]:
    """Return the bookings that went or were released from `first` to `day` with money to give back.

    A deposit of a booking that is off is to be given back until it is noted as given back or kept.

    Returns
    -------
    tuple of (str, str, Money)
        Id, name, and what is to be given back, above zero.
    """
    start, end = datetime.combine(first, time.min), datetime.combine(day, time.min)
    rows = conn.execute(
        select(booking_events.c.booking_number)
        .where(booking_events.c.state.in_((State.GONE, State.OFF)))
        .where(booking_events.c.at >= start, booking_events.c.at < end + timedelta(days=1))
        .order_by(booking_events.c.seq)
    )
    numbers = list(dict.fromkeys(row.booking_number for row in rows))
    found = money_of(conn, numbers, chosen)
    return tuple(
        (one.booking_id, one.name, one.due * -1) for one in found.values() if one.due.minor < 0
    )
