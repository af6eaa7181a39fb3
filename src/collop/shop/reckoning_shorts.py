"""Booked lines that were short when they were weighed: a loss of the animals they were cut from."""

from __future__ import annotations

from collections import defaultdict

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.measures import Weight, WeightUnit
from collop.shop.hook import booking_id
from collop.shop.reckoning_model import Short
from collop.shop.reckoning_money import made_of_animals
from collop.shop.tables import booking_lines, case_lines, ledger_entries
from collop.shop.week_tables import line_weighings

__all__ = ["shorts"]

_MOST = 200


def shorts(conn: Connection) -> tuple[Short, ...]:
    """Return the lines that were short by their newest weighing, newest first, at most 200."""
    row_of = line_weighings.c
    newest = select(func.max(row_of.seq)).group_by(row_of.booking_line_id)
    rows = conn.execute(
        select(line_weighings, booking_lines.c.booking_number, case_lines.c.name)
        .join(booking_lines, booking_lines.c.id == row_of.booking_line_id)
        .join(case_lines, case_lines.c.id == booking_lines.c.case_id)
        .where(row_of.seq.in_(newest), row_of.short > 0)
        .order_by(row_of.seq.desc())
        .limit(_MOST)
    ).all()
    if not rows:
        return ()
    lots: dict[int, set[str]] = defaultdict(set)
    entry = ledger_entries.c
    held = conn.execute(
        select(entry.booking_line_id, entry.lot_id)
        .where(entry.booking_line_id.in_([row.booking_line_id for row in rows]))
        .distinct()
    )
    for one in held:
        assert one.booking_line_id is not None
        lots[one.booking_line_id].add(one.lot_id)
    made = made_of_animals(conn, {lot for some in lots.values() for lot in some})
    return tuple(
        Short(
            booking_id=booking_id(row.booking_number), name=row.name,
            short=Weight(row.short, WeightUnit(row.unit)), reason=row.reason, why=row.why,
            at=row.at,
            tags=tuple(sorted({tag for lot in lots[row.booking_line_id] for tag in made.of(lot)})),
        )
        for row in rows
    )  # fmt: skip
