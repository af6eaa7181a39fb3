"""What is on hand, now or after any past entry, without adding up the whole ledger.

Every so many entries a mark keeps what was on hand after them. Stock is the last mark before the
moment plus the entries since, so it takes the same time in a shop's tenth year as in its first.
Marks are only a shorter way to the same sums; `collop.shop.balance` proves them.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Subquery, func, insert, literal, select, union_all
from sqlalchemy.engine import Connection

from collop.errors import NotEnoughFree
from collop.measures import Weight
from collop.shop.knife_tables import stock_mark_lines, stock_marks
from collop.shop.tables import ledger_entries

__all__ = ["HELD", "MARK_EVERY", "keep_above_zero", "keep_mark", "moment_seq", "stock_sums"]

#: The places inside the shop; what is binned, dripped off or sold has left.
HELD = ("rail", "block", "case", "booked", "trim", "bone", "fat")
MARK_EVERY = 10_000

_entry = ledger_entries.c
_line = stock_mark_lines.c


def moment_seq(conn: Connection, moment: datetime) -> int:
    """Return the last entry written up to `moment`; 0 if there was none.

    Entries keep the order in which they were written, whatever the clock did between them.
    """
    last = conn.scalar(
        select(_entry.seq).where(_entry.at <= moment).order_by(_entry.at.desc(), _entry.seq.desc())
    )
    if last is None:
        return 0
    # a clock put back writes earlier times later: take those in as well
    later = conn.scalar(
        select(_entry.seq).where(_entry.seq > last, _entry.at > moment).order_by(_entry.seq)
    )
    if later is not None:
        return int(later) - 1
    return int(conn.scalar(select(func.max(_entry.seq))) or 0)


def stock_sums(
    conn: Connection, *, upto: int | None = None, also: ColumnElement[bool] | None = None
) -> Subquery:
    """Return what is on hand by lot, place and piece, as a subquery to select from.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    upto : int, optional
        Last entry to count; left out, all of them.
    also : condition, optional
        On `ledger_entries` columns ``lot_id`` and ``place`` of the result, to sum less.

    Returns
    -------
    Subquery
        Columns ``lot_id, place, piece_id, total``; `total` in counts, never zero.
    """
    marks = select(func.max(stock_marks.c.seq))
    if upto is not None:
        marks = marks.where(stock_marks.c.seq <= upto)
    mark = int(conn.scalar(marks) or 0)
    since = select(_entry.lot_id, _entry.place, _entry.piece_id, _entry.delta.label("delta")).where(
        _entry.seq > mark, _entry.place.in_(HELD)
    )
    if upto is not None:
        since = since.where(_entry.seq <= upto)
    kept = select(_line.lot_id, _line.place, _line.piece_id, _line.count.label("delta")).where(
        _line.mark_seq == mark
    )
    both = union_all(kept, since).subquery()
    total = func.sum(both.c.delta)
    query = select(both.c.lot_id, both.c.place, both.c.piece_id, total.label("total"))
    if also is not None:
        query = query.where(also)
    return (
        query.group_by(both.c.lot_id, both.c.place, both.c.piece_id).having(total != 0).subquery()
    )


def keep_above_zero(conn: Connection, key: str) -> None:
    """Refuse an act that would leave less than nothing of a lot anywhere.

    Parameters
    ----------
    conn : Connection
        The writing connection.
    key : str
        Of the act; the lots it moved are looked at.

    Raises
    ------
    NotEnoughFree
        Naming lot and place; the transaction then writes nothing.
    """
    moved = select(_entry.lot_id).where(_entry.key == key)
    total = func.sum(_entry.delta)
    row = conn.execute(
        select(_entry.lot_id, _entry.place, total.label("total"))
        .where(_entry.lot_id.in_(moved))
        .group_by(_entry.lot_id, _entry.place)
        .having(total < 0)
        .limit(1)
    ).first()
    if row is not None:
        short = Weight(-int(row.total)).text()
        raise NotEnoughFree(
            f"{row.lot_id} has {short} less at {row.place} than that; look at it again.",
            where=row.lot_id,
        )


def keep_mark(conn: Connection, at: datetime, *, every: int = MARK_EVERY) -> bool:
    """Keep a mark if `every` entries or more were written since the last; tell whether it did."""
    newest = int(conn.scalar(select(func.max(_entry.seq))) or 0)
    last = int(conn.scalar(select(func.max(stock_marks.c.seq))) or 0)
    if newest - last < every:
        return False
    sums = stock_sums(conn)
    rows: Any = select(literal(newest), sums.c.lot_id, sums.c.place, sums.c.piece_id, sums.c.total)
    conn.execute(insert(stock_marks).values(seq=newest, at=at))
    names = ["mark_seq", "lot_id", "place", "piece_id", "count"]
    conn.execute(insert(stock_mark_lines).from_select(names, rows))
    return True
