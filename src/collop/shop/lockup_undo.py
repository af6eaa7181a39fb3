"""Taking back what was done with a line: the opposite of every move, nothing deleted."""

from __future__ import annotations

import uuid
from collections.abc import Sequence

from sqlalchemy import insert, select

from collop.errors import WrongState
from collop.shop.acts import Act
from collop.shop.knife_tables import lot_links
from collop.shop.lots import link
from collop.shop.store import AnyRow
from collop.shop.tables import ledger_entries

__all__ = ["TAKEN_BACK", "take_back"]

TAKEN_BACK = "taken back"
_entry = ledger_entries.c


def take_back(act: Act, key: str) -> None:
    """Undo every move of an earlier act by a move that is its opposite.

    Raises
    ------
    WrongState
        If what it moved has moved on since.
    """
    entries = act.conn.execute(
        select(ledger_entries).where(_entry.key == key)
        .order_by(_entry.seq.desc())
    ).all()  # fmt: skip
    made = act.conn.execute(
        select(
            lot_links.c.move, lot_links.c.parent_id, lot_links.c.child_id,
            lot_links.c.count.label("carried"),
        ).where(lot_links.c.key == key)
    ).all()  # fmt: skip
    names = {one.move: uuid.uuid4().hex for one in entries}
    _still_there(act, entries)
    if entries:
        act.conn.execute(insert(ledger_entries), [
            {"move": names[one.move], "lot_id": one.lot_id, "piece_id": one.piece_id,
             "booking_line_id": one.booking_line_id, "place": one.place, "delta": -one.delta,
             "unit": one.unit, "reason": TAKEN_BACK, "at": act.at, "by_id": act.by,
             "key": act.key}
            for one in entries
        ])  # fmt: skip
    for one in made:
        link(act, names[one.move], one.parent_id, one.child_id, -int(one.carried))


def _still_there(act: Act, entries: Sequence[AnyRow]) -> None:
    """See that all that came to a place by an act is still there; what is binned stays counted."""
    came: dict[tuple[str, str, int | None], int] = {}
    for one in entries:
        key = (one.lot_id, one.place, one.piece_id)
        came[key] = came.get(key, 0) + int(one.delta)
    for (lot_id, place, piece_id), count in came.items():
        if count <= 0:
            continue
        same = _entry.piece_id == piece_id
        rows = act.conn.execute(
            select(_entry.delta).where(
                _entry.lot_id == lot_id, _entry.place == place,
                same if piece_id is not None else _entry.piece_id.is_(None),
            )
        )  # fmt: skip
        if sum(int(row.delta) for row in rows) < count:
            raise WrongState(f"{lot_id} has moved on from {place} since; it cannot be taken back.")
