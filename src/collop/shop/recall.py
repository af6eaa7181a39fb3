"""A recall: from any lot up to its animals, and down to all that holds weight of theirs.

Of a lot that was mixed from several, such as mince, the whole is affected: the recalled weight
cannot be told apart in it. How much of it came from the recalled lots is told beside it.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy.engine import Connection

from collop.errors import NotFound
from collop.measures import Weight
from collop.shop.model import Settings
from collop.shop.recall_finding import (
    affected,
    balance_of,
    customers_of,
    lot_rows,
    makings_of,
    places_of_lots,
    taken_of,
    tickets_of,
)
from collop.shop.recall_model import Recall
from collop.shop.recall_spread import roots_of, spread_of
from collop.shop.tracing import origins_of

__all__ = ["SCOPES", "find_recall"]

#: Where a recall begins: at the animals and bought-in lots above, or at the lots asked for.
SCOPES = ("source", "lot")


def find_recall(
    conn: Connection, asked: str, lot_ids: Sequence[str], chosen: Settings, *, at: datetime,
    scope: str = "source",
) -> Recall:  # fmt: skip
    """Find all that holds weight of the same source as some lots.

    Parameters
    ----------
    conn : Connection
        A reader.
    asked : str
        What somebody scanned or typed, kept with the answer.
    lot_ids : sequence of str
        The lots it means.
    chosen : Settings
        The shop's settings.
    at : datetime
        When it was asked.
    scope : str
        ``source``: begin at the animals and bought-in lots above; ``lot``: at the lots themselves,
        when the fault arose in the shop.

    Raises
    ------
    NotFound
        If there is no such lot.
    """
    known = lot_rows(conn, lot_ids)
    if not lot_ids or len(known) < len(set(lot_ids)):
        missing = next((name for name in lot_ids if name not in known), asked)
        raise NotFound(f"There is no lot {missing[:60]!r}; scan the ticket again.", where="lot")
    roots, chain = roots_of(conn, lot_ids, scope)
    spread = spread_of(conn, roots)
    rows, places = lot_rows(conn, spread.order), places_of_lots(conn, spread.order)
    unit = chosen.legal_unit
    taken = taken_of(conn, spread.order, rows)
    sold = sum(by_place.get("sold", 0) for by_place in places.values())
    told = sum(one.weight.count for every in taken.values() for one in every if one.is_sold)
    return Recall(
        asked=asked, scope=scope, at=at, origins=origins_of(conn, roots), roots=tuple(roots),
        chain=tuple(chain), lots=affected(spread, rows, places),
        customers=customers_of(conn, taken),
        tickets=tickets_of(conn, spread.order, chosen.currency),
        makings=makings_of(conn, spread.order), balance=balance_of(spread, places, unit, chosen),
        walk_in=Weight(sold - told, unit),
    )  # fmt: skip
