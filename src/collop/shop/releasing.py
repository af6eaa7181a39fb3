"""Giving weight back: what a booking line holds returns to the case, to the last count."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.shop.acts import Act
from collop.shop.ledger import held_by, move
from collop.shop.store import AnyRow
from collop.shop.tables import booking_lines

__all__ = ["line_rows", "release_lines"]


def line_rows(conn: Connection, number: int) -> Sequence[AnyRow]:
    """Return the stored lines of a booking, in order."""
    return conn.execute(
        select(booking_lines)
        .where(booking_lines.c.booking_number == number)
        .order_by(booking_lines.c.position)
    ).all()


def release_lines(act: Act, number: int) -> None:
    """Move all that a booking holds back to the case: the same weight, lots and pieces."""
    for row in line_rows(act.conn, number):
        move(act, held_by(act.conn, row.id), ("booked", "case"), "released", row.id)
