"""Which pieces a household may have a share of, and which lots its packs come from."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.carcass import large_cuts, piece_named
from collop.errors import BadValue, NotFound
from collop.measures import Weight
from collop.shop.freezer_given import given_to
from collop.shop.freezer_model import FreezerPiece, Given, PackedFrom
from collop.shop.knife_tables import breaks, deliveries, lot_links
from collop.shop.lots import lot_row, read_unit
from collop.shop.railing import claims_on
from collop.shop.stock import stock_sums
from collop.shop.store import AnyRow
from collop.shop.tables import lots
from collop.shop.tracing import descend

__all__ = ["freezer_pieces", "given_below", "one_piece", "packed_from"]

_SPECIES = ("beef", "pork", "lamb", "goat")
_PLACES = ("block", "case", "trim", "bone", "fat")


def freezer_pieces(conn: Connection) -> tuple[FreezerPiece, ...]:
    """Return what hangs and what waits on the block, of the animals a household buys by share."""
    sums, claims, given = stock_sums(conn), claims_on(conn), given_to(conn)
    rows = conn.execute(
        select(lots, sums.c.place, sums.c.total)
        .join(lots, lots.c.id == sums.c.lot_id)
        .where(sums.c.place.in_(("rail", "block")), sums.c.total > 0)
        .where(lots.c.species.in_(_SPECIES))
        .order_by(lots.c.since, lots.c.id)
    ).all()
    broken = set(conn.scalars(select(breaks.c.lot_id)))
    found = []
    for row in rows:
        if row.place == "rail" or (row.kind == "cut" and row.id not in broken):
            # what hangs is claimed; a lot on the block is given by the order alone
            taken = claims.get(row.id, ()) if row.place == "rail" else given.get(row.id, ())
            piece = _piece(conn, row, int(row.total), sum(one.weight.count for one in taken))
            if piece is not None:
                found.append(piece)
    return tuple(found)


def one_piece(conn: Connection, tag: str) -> FreezerPiece:
    """Return one piece by its tag or lot.

    Raises
    ------
    NotFound
        If it neither hangs nor waits on the block.
    """
    for one in freezer_pieces(conn):
        if one.tag == tag:
            return one
    lot_row(conn, tag)  # says that there is no such lot
    raise NotFound(f"{tag} neither hangs nor waits on the block; choose another piece.",
                   where="tag")  # fmt: skip


def _parent(conn: Connection, lot_id: str) -> AnyRow | None:
    query = select(lots).join(lot_links, lot_links.c.parent_id == lots.c.id)
    return conn.execute(query.where(lot_links.c.child_id == lot_id)).first()


def _piece(conn: Connection, row: AnyRow, total: int, taken: int) -> FreezerPiece | None:
    """Return a row as a piece; None if nobody knows what of the animal it is."""
    whole = row if row.piece else _parent(conn, row.id)
    if whole is None or not whole.piece:
        return None
    try:
        known = piece_named(whole.piece, row.species)
    except BadValue:
        return None
    unit = read_unit(row)
    trimmed = row.piece is None
    words = row.what.casefold()
    named = tuple(one.name for one in large_cuts(row.species) if one.name in words)
    return FreezerPiece(
        tag=row.id, what=row.what, species=row.species, piece=known.title,
        large_cuts=named if trimmed else (), weight=Weight(total, unit),
        free=Weight(max(0, total - taken), unit), trimmed=trimmed, is_hot=_came_hot(conn, row),
    )  # fmt: skip


def _came_hot(conn: Connection, row: AnyRow) -> bool:
    """Tell whether a piece was weighed in hot and has not been chilled a day."""
    if row.delivery_number is None:
        return False
    query = select(deliveries.c.is_hot).where(deliveries.c.number == row.delivery_number)
    return bool(conn.scalar(query)) and row.kind == "animal"


def packed_from(conn: Connection, tag: str) -> tuple[PackedFrom, ...]:
    """Return the free lots that came from a piece, where packs of its share may be taken from."""
    lot_row(conn, tag)
    return tuple(_below(conn, tag))


def _below(conn: Connection, tag: str) -> Iterator[PackedFrom]:
    names = [step.lot_id for step in descend(conn, [tag])]
    sums = stock_sums(conn)
    rows = conn.execute(
        select(lots, sums.c.place, sums.c.piece_id, sums.c.total)
        .join(lots, lots.c.id == sums.c.lot_id)
        .where(sums.c.place.in_(_PLACES), sums.c.total > 0, sums.c.lot_id.in_(names))
        .order_by(lots.c.since, lots.c.id, sums.c.place)
    )
    under = set(conn.scalars(select(breaks.c.lot_id)))
    for row in rows:
        if row.piece_id is None and row.id not in under:
            weight = Weight(int(row.total), read_unit(row))
            yield PackedFrom(tag, row.id, row.what, row.place, weight)


def given_below(conn: Connection) -> Mapping[str, tuple[Given, ...]]:
    """Return the same for each piece with every lot that was cut from it."""
    found: dict[str, tuple[Given, ...]] = defaultdict(tuple)
    for tag, given in given_to(conn).items():
        for lot_id in dict.fromkeys((tag, *(step.lot_id for step in descend(conn, [tag])))):
            found[lot_id] = (*found[lot_id], *given)
    return found
