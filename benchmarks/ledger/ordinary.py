"""The same questions answered the ordinary way, to compare with: no marks, no index on links."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from datetime import datetime

from collop.shop import Recall, StockLine, Trace
from collop.shop.stock import HELD

__all__ = [
    "by_summing_all", "recall_by_hand", "recalled", "stock_by_hand", "trace_by_hand", "traced_lots",
]  # fmt: skip


def by_summing_all(conn: sqlite3.Connection, moment: datetime) -> dict[tuple[str, str], int]:
    """Return stock as of a moment by adding up every entry written up to it."""
    places = ", ".join(f"'{place}'" for place in HELD)
    found = conn.execute(
        "SELECT lot_id, place, sum(delta) FROM ledger_entries"  # noqa: S608 -- our own words
        f" WHERE at <= ? AND place IN ({places}) GROUP BY lot_id, place HAVING sum(delta) <> 0",
        (f"{moment:%Y-%m-%d %H:%M:%S.%f}",),
    )
    return {(lot, place): count for lot, place, count in found}


def stock_by_hand(lines: Iterable[StockLine]) -> dict[tuple[str, str], int]:
    """Return what the shop says of stock, in the same form."""
    return {(line.lot_id, line.place): line.weight.count for line in lines}


def _linked(conn: sqlite3.Connection, wanted: str, by: str, lot_id: str) -> list[str]:
    found = conn.execute(
        f"SELECT DISTINCT {wanted} FROM lot_links NOT INDEXED WHERE {by} = ?",  # noqa: S608
        (lot_id,),
    )
    return [lot for (lot,) in found]


def trace_by_hand(conn: sqlite3.Connection, lot_id: str) -> set[str]:
    """Return all lots of a lot's animal: link by link up, then link by link down."""
    root = lot_id
    while above := _linked(conn, "parent_id", "child_id", root):
        (root,) = above
    found, ahead = {root}, [root]
    while ahead:
        below = _linked(conn, "child_id", "parent_id", ahead.pop())
        found.update(below)
        ahead += below
    return found


def traced_lots(trace: Trace) -> set[str]:
    """Return the lots that the shop's trace names."""
    return {lot.lot_id for lot in (*trace.up, *trace.sisters)}


def recall_by_hand(conn: sqlite3.Connection, lot_id: str) -> dict[str, dict[str, int]]:
    """Return all lots of a lot's animal with what they have by place, lot by lot."""
    found: dict[str, dict[str, int]] = {}
    for lot in trace_by_hand(conn, lot_id):
        rows = conn.execute(
            "SELECT place, sum(delta) FROM ledger_entries WHERE lot_id = ? GROUP BY place"
            " HAVING sum(delta) <> 0",
            (lot,),
        )
        found[lot] = dict(rows.fetchall())
    return found


def recalled(recall: Recall) -> dict[str, dict[str, int]]:
    """Return what the shop's recall says of them, in the same form."""
    return {lot.lot_id: {place: weight.count for place, weight in lot.where} for lot in recall.lots}
