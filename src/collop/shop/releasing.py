"""Giving weight back, to the last count: what a booking line holds returns, and is held again."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.errors import NotEnoughFree
from collop.measures import Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.ledger import Pick, held_by, move
from collop.shop.lots import at_place, lot_row
from collop.shop.picking import pick
from collop.shop.store import AnyRow
from collop.shop.tables import booking_lines, ledger_entries

__all__ = ["RENEWED", "hold_again", "let_go", "line_rows", "release_lines", "released_by"]

RELEASED = "released"
#: Reason of old stock that goes back, and of the fresh that comes for it.
RENEWED = "taken from fresh"
_entry = ledger_entries.c


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
        let_go(act, row.id)


def let_go(act: Act, line_id: int) -> None:
    """Move all that one booked line holds back to the case."""
    move(act, held_by(act.conn, line_id), ("booked", "case"), RELEASED, line_id)


def released_by(conn: Connection, line_id: int, key: str) -> list[Pick]:
    """Return what a line gave back to the case in one act, lot by lot and piece by piece."""
    total = func.sum(_entry.delta).label("total")
    rows = conn.execute(
        select(_entry.lot_id, _entry.piece_id, func.min(_entry.unit).label("unit"), total)
        .where(_entry.booking_line_id == line_id, _entry.key == key, _entry.place == "case",
               _entry.reason == RELEASED)
        .group_by(_entry.lot_id, _entry.piece_id)
        .having(total > 0)
        .order_by(_entry.lot_id, _entry.piece_id)
    )  # fmt: skip
    return [Pick(row.lot_id, int(row.total), row.unit, row.piece_id) for row in rows]


def hold_again(act: Act, row: AnyRow, key: str) -> None:
    """Promise a line what it gave back in the act with `key`: the same lots as far as they last.

    What of its own cut is no longer there comes from other lots of it; what was worked on for it is
    there or not.

    Raises
    ------
    NotEnoughFree
        If it has been promised to somebody else since, or is past its day.
    """
    missing: list[Pick] = []
    for one in released_by(act.conn, row.id, key):
        there, gone = _still_there(act, one)
        if there is not None:
            move(act, [there], ("case", "booked"), "put back", row.id)
        if gone is not None:
            missing.append(gone)
    if not missing:
        return
    unit = WeightUnit(row.unit)
    for one in missing:
        lot = lot_row(act.conn, one.lot_id)
        if lot.case_id != row.case_id:
            raise NotEnoughFree(
                f"{Weight(one.count, unit).text()} of {lot.what} is not free any more; book the"
                " rest anew.",
                where=one.lot_id,
            )
    count = sum(one.count for one in missing)
    pieces = tuple(Weight(one.count, unit) for one in missing if one.piece_id is not None) or None
    picks = pick(act, row.case_id, Weight(count, unit), pieces)
    move(act, picks, ("case", "booked"), "put back", row.id)


def _still_there(act: Act, one: Pick) -> tuple[Pick | None, Pick | None]:
    """Split what a line gave back into what is still free of that very lot, and what is not."""
    lot = lot_row(act.conn, one.lot_id)
    is_past = lot.use_by is not None and lot.use_by < act.at.date()
    free = 0 if is_past else sum(
        pick.count for pick in at_place(act.conn, one.lot_id, "case")
        if pick.piece_id == one.piece_id
    )  # fmt: skip
    if one.piece_id is not None and free < one.count:
        free = 0
    part = min(free, one.count)
    there = Pick(one.lot_id, part, one.unit, one.piece_id) if part else None
    rest = one.count - part
    return there, Pick(one.lot_id, rest, one.unit, one.piece_id) if rest else None
