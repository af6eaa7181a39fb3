"""The weight ledger: entries in balanced pairs, and what they add up to.

Weight comes in at the door (`RECEIVED`), or when a scale says that more is there than was thought
(`FOUND`). After that it only moves: each move is a pair of entries, minus at one place and plus at
the other. A move from one lot into another, at the knife, writes a link beside its pair, so that
for each lot what came in is what went out and what is there. Pieces sold whole carry their own id
through every move, so a piece is in exactly one place. No place ever holds less than nothing.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from sqlalchemy import Select, and_, func, insert, or_, select
from sqlalchemy.engine import Connection

from collop.measures import Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.tables import ledger_entries, lots, pieces

__all__ = [
    "CAME_BACK",
    "DOOR",
    "FOUND",
    "RECEIVED",
    "FreeLot",
    "Pick",
    "find_more",
    "free_lots",
    "held_by",
    "move",
    "pass_on",
    "receive",
]

RECEIVED = "received"
FOUND = "found by the scale"
#: Reason of what a customer brought back: from sold to the bin.
CAME_BACK = "back over the glass"
#: Reasons of entries that bring weight in, with no minus elsewhere.
DOOR = (RECEIVED, FOUND)


@dataclass(frozen=True, slots=True)
class Pick:
    """Some weight of one lot, or one whole piece of it."""

    lot_id: str
    count: int
    unit: str
    piece_id: int | None = None


@dataclass(frozen=True, slots=True)
class FreeLot:
    """What one lot still has in the case, unpromised."""

    id: str
    count: int
    unit: str
    pieces: tuple[Pick, ...]


def _entry(
    act: Act, pick: Pick, move_id: str, reason: str, line_id: int | None
) -> dict[str, object]:
    return {
        "move": move_id,
        "lot_id": pick.lot_id,
        "piece_id": pick.piece_id,
        "booking_line_id": line_id,
        "unit": pick.unit,
        "reason": reason,
        "at": act.at,
        "by_id": act.by,
        "key": act.key,
    }


def receive(
    act: Act, lot_id: str, weight: Weight, place: str, piece_weights: Iterable[Weight] = ()
) -> None:
    """Put a new lot's whole weight at `place`, piece by piece if it has pieces."""
    picks = []
    for piece in piece_weights:
        row = {"lot_id": lot_id, "weight": piece.count, "unit": piece.unit}
        key = act.conn.execute(insert(pieces).values(row)).inserted_primary_key
        assert key is not None
        picks.append(Pick(lot_id, piece.count, piece.unit, key[0]))
    picks = picks or [Pick(lot_id, weight.count, weight.unit)]
    move_id = uuid.uuid4().hex
    rows = [
        _entry(act, pick, move_id, RECEIVED, None) | {"place": place, "delta": pick.count}
        for pick in picks
    ]
    act.conn.execute(insert(ledger_entries), rows)


def move(
    act: Act, picks: Iterable[Pick], way: tuple[str, str], reason: str, line_id: int | None = None
) -> None:
    """Move `picks` from the first place of `way` to the second."""
    move_id = uuid.uuid4().hex
    rows = []
    for pick in picks:
        if pick.count:
            entry = _entry(act, pick, move_id, reason, line_id)
            rows.append(entry | {"place": way[0], "delta": -pick.count})
            rows.append(entry | {"place": way[1], "delta": pick.count})
    if rows:
        act.conn.execute(insert(ledger_entries), rows)


def find_more(act: Act, pick: Pick, place: str, line_id: int | None = None) -> None:
    """Bring in what a scale found on top of what was thought to be at `place`."""
    entry = _entry(act, pick, uuid.uuid4().hex, FOUND, line_id)
    act.conn.execute(insert(ledger_entries).values(entry | {"place": place, "delta": pick.count}))


def pass_on(
    act: Act, given: Pick, taken: Pick, way: tuple[str, str], reason: str, *,
    line_id: int | None = None,
) -> str:  # fmt: skip
    """Move weight out of one lot at the first place of `way` into another lot at the second.

    A negative link undoes an earlier one: give the child as `given` and its parent as `taken`
    with `reason` ``taken back``. `line_id` is the booking line that holds what is ``booked``.

    Returns
    -------
    str
        The move's id, for the link.
    """
    move_id = uuid.uuid4().hex
    lines = [line_id if place == "booked" else None for place in way]
    out = _entry(act, given, move_id, reason, lines[0]) | {"place": way[0], "delta": -given.count}
    into = _entry(act, taken, move_id, reason, lines[1]) | {"place": way[1], "delta": given.count}
    act.conn.execute(insert(ledger_entries), [out, into])
    return move_id


def _in_case(
    conn: Connection, lot_ids: Select[tuple[str]]
) -> Iterable[tuple[str, int | None, int]]:
    total = func.sum(ledger_entries.c.delta).label("total")
    found = conn.execute(
        select(ledger_entries.c.lot_id, ledger_entries.c.piece_id, total)
        .where(ledger_entries.c.lot_id.in_(lot_ids), ledger_entries.c.place == "case")
        .group_by(ledger_entries.c.lot_id, ledger_entries.c.piece_id)
        .having(total > 0)
        .order_by(ledger_entries.c.lot_id, ledger_entries.c.piece_id)
    )
    return ((row.lot_id, row.piece_id, int(row.total)) for row in found)


def free_lots(conn: Connection, case_id: str, today: date) -> list[FreeLot]:
    """Return the lots of a case line with free weight, oldest use-by first; none past it."""
    may_go = and_(lots.c.case_id == case_id, or_(lots.c.use_by.is_(None), lots.c.use_by >= today))
    order = (lots.c.use_by, lots.c.since, lots.c.id)
    rows = conn.execute(select(lots.c.id, lots.c.unit).where(may_go).order_by(*order)).all()
    found: dict[str, list[Pick]] = {row.id: [] for row in rows}
    units = {row.id: row.unit for row in rows}
    for lot_id, piece_id, count in _in_case(conn, select(lots.c.id).where(may_go)):
        found[lot_id].append(Pick(lot_id, count, units[lot_id], piece_id))
    return [
        FreeLot(
            lot_id,
            sum(pick.count for pick in picks),
            units[lot_id],
            tuple(pick for pick in picks if pick.piece_id is not None),
        )
        for lot_id, picks in found.items()
        if picks
    ]


def held_by(conn: Connection, line_id: int) -> list[Pick]:
    """Return what a booking line holds at this moment."""
    total = func.sum(ledger_entries.c.delta).label("total")
    entry = ledger_entries.c
    rows = conn.execute(
        select(entry.lot_id, entry.piece_id, func.min(entry.unit).label("unit"), total)
        .where(entry.booking_line_id == line_id, entry.place == "booked")
        .group_by(entry.lot_id, entry.piece_id)
        .having(total > 0)
        .order_by(entry.lot_id, entry.piece_id)
    )
    return [Pick(row.lot_id, int(row.total), row.unit, row.piece_id) for row in rows]


def weight_of(picks: Iterable[Pick], unit: WeightUnit = WeightUnit.LB) -> Weight:
    """Return the weight of all `picks`."""
    return Weight(sum(pick.count for pick in picks), unit)
