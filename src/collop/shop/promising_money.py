"""The money of what is still to come for a booking: its weight at the price it was promised at."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, datetime

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.measures import Money, UnitPrice
from collop.shop.bench_model import Want
from collop.shop.bench_tables import booking_wants
from collop.shop.bench_wants import load_wants
from collop.shop.board import prices_before
from collop.shop.hook import load_booking
from collop.shop.model import Settings
from collop.shop.promising_model import ComesTo, ToCome
from collop.shop.quotes import number_in
from collop.shop.till import totals_of

__all__ = ["comes_to", "promised_price", "to_come", "to_come_lines"]


def _first_wanted(conn: Connection, want: Want) -> datetime:
    number = number_in("H", want.booking_id, "booking")
    first: datetime | None = conn.scalar(
        select(func.min(booking_wants.c.at)).where(
            booking_wants.c.booking_number == number, booking_wants.c.case_id == want.case_id
        )
    )
    return first or want.at


def promised_price(conn: Connection, want: Want, chosen: Settings) -> UnitPrice | None:
    """Return the board price of the moment the line was first wanted by the booking.

    Parameters
    ----------
    conn : Connection
        Reading or writing connection.
    want : Want
        What a booking wants.
    chosen : Settings
        Of the shop.

    Returns
    -------
    UnitPrice or None
        None if the line never had a price.
    """
    prices = prices_before(conn, _first_wanted(conn, want), chosen.currency)
    return prices.get(want.case_id)


def to_come(
    conn: Connection, wants: Sequence[Want], chosen: Settings
) -> dict[str, tuple[ToCome, ...]]:  # fmt: skip
    """Return what is to come by booking, each line at the price it will be set aside at.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    wants : sequence of Want
        Of any bookings; what is set aside already is left out, and so are lines without a price.
    chosen : Settings
        Currency and rounding.
    """
    found: dict[str, list[ToCome]] = defaultdict(list)
    for one in wants:
        price = promised_price(conn, one, chosen) if one.left else None
        if price is not None:
            money = price.line(one.left, chosen.rounding)
            since = _first_wanted(conn, one).date()
            found[one.booking_id].append(
                ToCome(one.booking_id, one.case_id, one.case_name, one.left, price, money, since)
            )
    return {name: tuple(lines) for name, lines in found.items()}


def to_come_lines(lines: Sequence[ToCome]) -> list[tuple[str, Money]]:
    """Return line and money of what is to come, as `till.totals_of` takes them."""
    return [(one.case_id, one.money) for one in lines]


def comes_to(conn: Connection, booking: str, chosen: Settings, on: date) -> ComesTo | None:
    """Return what a booking comes to with what is still to come for it, and what is to pay then.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    booking : str
        Its id, such as ``H16``.
    chosen : Settings
        Of the shop.
    on : date
        Day whose taxes count.

    Returns
    -------
    ComesTo or None
        None if nothing is to come.

    Raises
    ------
    NotFound
        If there is no such booking.
    """
    slip = load_booking(conn, number_in("H", booking, "booking"), chosen)
    wants = [one for one in load_wants(conn, chosen) if one.booking_id == slip.id]
    lines = to_come(conn, wants, chosen).get(slip.id, ())
    if not lines:
        return None
    there = [(line.case_id, line.comes_to(chosen.rounding)) for line in slip.standing]
    totals = totals_of(conn, chosen, [*there, *to_come_lines(lines)], deposit=slip.deposit, on=on)
    return ComesTo(lines, totals.total, slip.deposit, totals.due)
