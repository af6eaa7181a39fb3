"""Every weighing of what hangs: how a piece shrinks day by day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.measures import Weight, decimal_of
from collop.shop.knife_model import RailPiece
from collop.shop.tables import ledger_entries, lots

__all__ = ["HungWeights", "Weighing", "weighings_of"]

_entry = ledger_entries.c
_PLACES = 1


@dataclass(frozen=True, slots=True)
class Weighing:
    """One time a piece was weighed.

    Parameters
    ----------
    at : datetime
        When.
    days : int
        Days it had hung by then, as the rail counts them.
    weight : Weight
        What it weighed.
    shrink_pct : Decimal
        What it had lost to air by then, in per cent of what came in, one decimal.
    """

    at: datetime
    days: int
    weight: Weight
    shrink_pct: Decimal

    @property
    def kept_pct(self) -> Decimal:
        """Return what was left of what came in, in per cent; with the shrink it makes 100."""
        return 100 - self.shrink_pct


@dataclass(frozen=True, slots=True)
class HungWeights:
    """A piece that hangs and its weighings, oldest first; the first is when it came."""

    tag: str
    what: str
    weighings: tuple[Weighing, ...]


def weighings_of(conn: Connection, pieces: Sequence[RailPiece]) -> tuple[HungWeights, ...]:
    """Return the weighings of pieces that hang, in their order.

    A weighing is a change of what hangs under a tag; weighed again without a change, it is none.
    The time a piece lay at the block and came back as it was adds none either.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    pieces : sequence of RailPiece
        What hangs.
    """
    tags = [piece.tag for piece in pieces]
    since: dict[str, date] = {
        row.id: row.since.date()
        for row in conn.execute(select(lots.c.id, lots.c.since).where(lots.c.id.in_(tags)))
    }
    moves: dict[str, dict[datetime, int]] = defaultdict(lambda: defaultdict(int))
    for row in conn.execute(
        select(_entry.lot_id, _entry.at, _entry.delta)
        .where(_entry.place == "rail", _entry.lot_id.in_(tags))
        .order_by(_entry.seq)
    ):
        moves[row.lot_id][row.at] += int(row.delta)
    return tuple(
        HungWeights(piece.tag, piece.what, _weighed(piece, since[piece.tag], moves[piece.tag]))
        for piece in pieces
    )


def _weighed(piece: RailPiece, since: date, moves: dict[datetime, int]) -> tuple[Weighing, ...]:
    found: list[Weighing] = []
    hangs = 0
    for at in sorted(moves):
        hangs += moves[at]
        if hangs <= 0 or (found and found[-1].weight.count == hangs):
            continue
        lost = Fraction(100 * (piece.weight_in.count - hangs), piece.weight_in.count)
        weight = Weight(hangs, piece.weight_in.unit)
        found.append(Weighing(at, (at.date() - since).days, weight, decimal_of(lost, _PLACES)))
    return tuple(found)
