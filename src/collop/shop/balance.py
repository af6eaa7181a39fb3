"""Does the ledger hold? In = out + on hand for every lot, and promises match what is reserved."""

from __future__ import annotations

from collections.abc import Iterator

from sqlalchemy import and_, func, select
from sqlalchemy.engine import Connection

from collop.measures import Weight
from collop.shop.hook import booking_id
from collop.shop.ledger import RECEIVED
from collop.shop.model import State
from collop.shop.tables import (
    booking_events,
    booking_lines,
    bookings,
    ledger_entries,
    lots,
    pieces,
    slip_lines,
)

__all__ = ["faults"]

_entry = ledger_entries.c
# bin, drip and sold are out of the shop; drip may be below zero where a scale says more than a
# ticket
_ON_HAND = ("rail", "block", "case", "booked", "trim", "bone", "fat")


def _text(count: int) -> str:
    return Weight(count).text(places=3)


def _lots(conn: Connection) -> Iterator[str]:
    rows = conn.execute(
        select(lots.c.id, lots.c.weight_in, func.coalesce(func.sum(_entry.delta), 0).label("kept"))
        .outerjoin(ledger_entries, _entry.lot_id == lots.c.id)
        .group_by(lots.c.id, lots.c.weight_in)
    )
    for row in rows:
        if int(row.kept) != row.weight_in:
            yield (
                f"Lot {row.id}: {_text(row.weight_in)} came in, and {_text(int(row.kept))} is"
                " accounted for."
            )


def _moves(conn: Connection) -> Iterator[str]:
    gap = func.sum(_entry.delta)
    rows = conn.execute(
        select(_entry.move, _entry.lot_id, gap.label("gap"))
        .where(_entry.reason != RECEIVED)
        .group_by(_entry.move, _entry.lot_id)
        .having(gap != 0)
    )
    for row in rows:
        yield f"Lot {row.lot_id}: a move is out of balance by {_text(int(row.gap))}."


def _places(conn: Connection) -> Iterator[str]:
    there = func.sum(_entry.delta)
    rows = conn.execute(
        select(_entry.lot_id, _entry.place, there.label("there"))
        .where(_entry.place.in_(_ON_HAND))
        .group_by(_entry.lot_id, _entry.place)
        .having(there < 0)
    )
    for row in rows:
        name = "free" if row.place == "case" else row.place
        yield f"Lot {row.lot_id}: {_text(int(row.there))} is {name}, less than nothing."


def _pieces(conn: Connection) -> Iterator[str]:
    there = func.sum(_entry.delta)
    rows = conn.execute(
        select(_entry.piece_id, _entry.place, pieces.c.weight, there.label("there"))
        .join(pieces, pieces.c.id == _entry.piece_id)
        .group_by(_entry.piece_id, _entry.place, pieces.c.weight)
        .having(there != 0)
    )
    seen: set[int] = set()
    for row in rows:
        if row.piece_id in seen or int(row.there) != row.weight:
            yield f"Piece {row.piece_id} of {_text(row.weight)} is not whole in one place."
        seen.add(row.piece_id)


def _states(conn: Connection) -> dict[int, State]:
    rows = conn.execute(
        select(booking_events.c.booking_number, booking_events.c.state).order_by(
            booking_events.c.seq
        )
    )
    return {row.booking_number: State(row.state) for row in rows}


def _promises(conn: Connection) -> Iterator[str]:
    states = _states(conn)
    held = func.coalesce(func.sum(_entry.delta), 0).label("held")
    rows = conn.execute(
        select(booking_lines, held)
        .outerjoin(
            ledger_entries,
            and_(_entry.booking_line_id == booking_lines.c.id, _entry.place == "booked"),
        )
        .group_by(booking_lines.c.id)
    )
    for row in rows:
        state = states.get(row.booking_number, State.OFF)
        promised = row.weight if state.holds else 0
        if int(row.held) != promised:
            yield (
                f"{booking_id(row.booking_number)} ({state}) holds {_text(int(row.held))} of"
                f" {row.case_id}, and {_text(promised)} is promised."
            )
    for row in conn.execute(select(bookings.c.number)):
        if row.number not in states:
            yield f"{booking_id(row.number)} has no state."


def _sold(conn: Connection) -> Iterator[str]:
    sold = func.coalesce(func.sum(_entry.delta), 0).label("sold")
    rows = conn.execute(
        select(slip_lines.c.weighed, booking_lines.c.booking_number, booking_lines.c.case_id, sold)
        .join(booking_lines, booking_lines.c.id == slip_lines.c.booking_line_id)
        .outerjoin(
            ledger_entries,
            and_(_entry.booking_line_id == booking_lines.c.id, _entry.place == "sold"),
        )
        .group_by(
            slip_lines.c.id, slip_lines.c.weighed, booking_lines.c.booking_number,
            booking_lines.c.case_id,
        )
    )  # fmt: skip
    for row in rows:
        if int(row.sold) != row.weighed:
            yield (
                f"{booking_id(row.booking_number)}: the slip says {_text(row.weighed)} of"
                f" {row.case_id}, the ledger {_text(int(row.sold))}."
            )


def _strays(conn: Connection) -> Iterator[str]:
    rows = conn.execute(
        select(_entry.seq, booking_lines.c.booking_number)
        .join(booking_lines, booking_lines.c.id == _entry.booking_line_id)
        .join(lots, lots.c.id == _entry.lot_id)
        .where(lots.c.case_id != booking_lines.c.case_id)
    )
    for row in rows:
        yield f"{booking_id(row.booking_number)} holds weight of another cut (entry {row.seq})."


def _file(conn: Connection) -> Iterator[str]:
    if conn.dialect.name != "sqlite":
        return
    for row in conn.exec_driver_sql("PRAGMA integrity_check"):
        if row[0] != "ok":
            yield f"The database file is damaged: {row[0]}; restore the last backup."
    for row in conn.exec_driver_sql("PRAGMA foreign_key_check"):
        yield f"A row of {row[0]} points to nothing in {row[2]}."


def faults(conn: Connection) -> list[str]:
    """Return one sentence for each fault; an empty list is a clean ledger."""
    checks = (_file, _lots, _moves, _places, _pieces, _promises, _sold, _strays)
    return [sentence for check in checks for sentence in check(conn)]
