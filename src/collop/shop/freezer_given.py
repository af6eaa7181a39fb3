"""What freezer orders wait for: the money that was agreed, and the meat that is given to them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.measures import Money, Weight, WeightUnit
from collop.shop.freezer_model import Given
from collop.shop.model import State
from collop.shop.store import AnyRow
from collop.shop.tables import booking_events, bookings
from collop.shop.week_tables import freezer_orders

__all__ = ["agreed_totals", "given_to"]


def _unweighed(conn: Connection, numbers: Collection[int] | None = None) -> list[AnyRow]:
    """Return the newest order of each booking, of those whose packs are not weighed yet."""
    newest = select(func.max(freezer_orders.c.number)).group_by(freezer_orders.c.booking_number)
    if numbers is not None:
        newest = newest.where(freezer_orders.c.booking_number.in_(list(numbers)))
    rows = conn.execute(
        select(freezer_orders)
        .where(freezer_orders.c.number.in_(newest))
        .order_by(freezer_orders.c.number)
    )
    return [row for row in rows if not row.plan["is_weighed"]]


def agreed_totals(
    conn: Connection, numbers: Collection[int], currency: str
) -> Mapping[int, Money]:  # fmt: skip
    """Return the agreed total of each booking with a freezer order that is not packed yet.

    Once it is packed, the lines of the booking say what it comes to.
    """
    return {
        row.booking_number: Money(row.total, currency) for row in _unweighed(conn, numbers)
    }  # fmt: skip


def _holding(conn: Connection) -> dict[int, str]:
    """Return the names of the bookings with a freezer order that still hold, by number."""
    last = (
        select(booking_events.c.booking_number, func.max(booking_events.c.seq).label("seq"))
        .where(booking_events.c.booking_number.in_(select(freezer_orders.c.booking_number)))
        .group_by(booking_events.c.booking_number)
        .subquery()
    )
    rows = conn.execute(
        select(bookings.c.number, bookings.c.name, booking_events.c.state)
        .join(last, last.c.booking_number == bookings.c.number)
        .join(booking_events, booking_events.c.seq == last.c.seq)
    )
    return {row.number: row.name for row in rows if State(row.state).holds}


def given_to(conn: Connection) -> Mapping[str, tuple[Given, ...]]:
    """Return what the orders that wait for their packs have of each piece or lot, by its tag."""
    found: dict[str, tuple[Given, ...]] = defaultdict(tuple)
    names = _holding(conn)
    for row in _unweighed(conn, list(names)):
        unit = WeightUnit(row.plan["unit"])
        for part in row.plan["parts"]:
            one = Given(row.booking_number, names[row.booking_number],
                        Weight.of(part["weight"], unit))  # fmt: skip
            found[part["tag"]] = (*found[part["tag"]], one)
    return found
