"""Slips of a day that are not paid yet, for the lock-up."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.measures import Money
from collop.shop.model import Settings
from collop.shop.payments import money_of
from collop.shop.tables import slips

__all__ = ["unpaid_of_day"]


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
