"""Yield drift of the shop: its closed breaks by the hand that weighed them and by farm."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence
from typing import Any

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.shop.cost_reading import some_of
from collop.shop.knife_model import Style
from collop.shop.knife_tables import weighings
from collop.shop.own_yields import ClosedBreak, closed_breaks
from collop.shop.styles import load_styles
from collop.shop.tables import lots, people

__all__ = ["SALEABLE_KINDS", "drift_problem"]

#: Kinds of parts that are sold.
SALEABLE_KINDS = frozenset({"cut", "trim"})
# so many of each style: what was cut long ago was cut by other hands
_NEWEST = 100


def _hands(conn: Connection, numbers: Sequence[int]) -> dict[int, str]:
    """Return who weighed most of each break; of two, the first by name."""
    names = {row.id: row.name for row in conn.execute(select(people))}
    found: dict[int, Counter[str]] = defaultdict(Counter)
    rows = conn.execute(select(weighings).where(weighings.c.break_number.in_(list(numbers)))).all()
    undone = {row.takes_back for row in rows}
    for row in rows:
        if row.by_id in names and row.takes_back is None and row.seq not in undone:
            found[row.break_number][names[row.by_id]] += row.weight
    return {
        number: min(count, key=lambda name: (-count[name], name)) for number, count in found.items()
    }


def _farms(conn: Connection, tags: Sequence[str]) -> dict[str, str]:
    found: dict[str, str] = {}
    for some in some_of(tags):
        rows = conn.execute(select(lots.c.id, lots.c.farm).where(lots.c.id.in_(some)))
        found |= {row.id: row.farm for row in rows if row.farm and row.farm.strip()}
    return found


def _style(conn: Connection, style: Style, closed: Sequence[ClosedBreak]) -> dict[str, Any]:
    hands = _hands(conn, [one.number for one in closed])
    farms = _farms(conn, [one.tag for one in closed])
    return {
        "style": style.name,
        "saleable": [part.name for part in style.parts if part.kind in SALEABLE_KINDS],
        "breaks": [
            {"label": one.tag, "hand": hands.get(one.number), "farm": farms.get(one.tag),
             "weights": one.weights}
            for one in closed
        ],
    }  # fmt: skip


def drift_problem(conn: Connection) -> dict[str, Any] | None:
    """Return the ``collop.drift/1`` problem of the shop; None as long as no break has closed.

    Two styles of one name are told apart by their ids.
    """
    found: list[dict[str, Any]] = []
    for style in load_styles(conn):
        closed = closed_breaks(conn, style, _NEWEST)
        if closed and any(part.kind in SALEABLE_KINDS for part in style.parts):
            one = _style(conn, style, closed)
            if any(one["style"] == other["style"] for other in found):
                one["style"] = f"{style.name} ({style.id})"
            found.append(one)
    if not found:
        return None
    return {"schema": "collop.drift/1", "name": "", "unit": "lb", "styles": found}
