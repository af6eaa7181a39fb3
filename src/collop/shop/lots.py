"""Lots: making one, cutting one from another, giving weight back, and what hangs where."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import func, insert, select
from sqlalchemy.engine import Connection

from collop.errors import BadValue, NotFound
from collop.measures import Weight, WeightUnit
from collop.shop.acts import Act
from collop.shop.knife_tables import lot_links
from collop.shop.ledger import Pick, pass_on
from collop.shop.store import AnyRow
from collop.shop.tables import ledger_entries, lots, pieces

__all__ = [
    "CUT", "NewLot", "at_place", "cut_from", "give_back", "link", "lot_row", "make_lot",
    "next_name", "places_of", "read_unit",
]  # fmt: skip

CUT = "cut"
_entry = ledger_entries.c


@dataclass(frozen=True, slots=True)
class NewLot:
    """A lot to be made; `kind` is animal, piece (it hangs), cut or stock."""

    id: str
    kind: str
    species: str
    what: str
    weight: Weight
    since: datetime
    farm: str | None = None
    case_id: str | None = None
    use_by: date | None = None
    piece: str | None = None
    delivery_number: int | None = None
    parts: tuple[Weight, ...] = ()


def read_unit(row: AnyRow) -> WeightUnit:
    """Return the unit a lot was weighed in."""
    return WeightUnit(row.unit)


def lot_row(conn: Connection, lot_id: str) -> AnyRow:
    """Return a lot's row, or raise `NotFound`."""
    row = conn.execute(select(lots).where(lots.c.id == lot_id)).first()
    if row is None:
        raise NotFound(f"There is no lot {lot_id[:60]!r}; look at the rail.", where="lot")
    return row


def _is_taken(conn: Connection, lot_id: str) -> bool:
    return conn.execute(select(lots.c.id).where(lots.c.id == lot_id)).first() is not None


def make_lot(act: Act, new: NewLot) -> None:
    """Write a lot; its weight is brought in, or cut from another lot, by the caller.

    Raises
    ------
    BadValue
        If the name is taken.
    """
    if _is_taken(act.conn, new.id):
        raise BadValue(f"{new.id} is taken already; give another tag.", where="tag")
    act.conn.execute(
        insert(lots).values(
            id=new.id, kind=new.kind, case_id=new.case_id, species=new.species, what=new.what,
            farm=new.farm, weight_in=new.weight.count, unit=new.weight.unit.value,
            since=new.since, use_by=new.use_by, piece=new.piece,
            delivery_number=new.delivery_number,
        )
    )  # fmt: skip


def next_name(conn: Connection, parent_id: str) -> str:
    """Return the name of the next lot cut from `parent_id`: its name and a running number."""
    children = conn.scalar(
        select(func.count(func.distinct(lot_links.c.child_id))).where(
            lot_links.c.parent_id == parent_id
        )
    )
    number = int(children or 0) + 1
    # somebody may have written such a name on a tag at the door
    while _is_taken(conn, f"{parent_id}.{number:02d}"):
        number += 1
    return f"{parent_id}.{number:02d}"


def link(act: Act, move_id: str, parent_id: str, child_id: str, count: int) -> None:
    """Write that a move carried `count` from one lot into another, below zero if it came back."""
    act.conn.execute(
        insert(lot_links).values(
            move=move_id, parent_id=parent_id, child_id=child_id, count=count, at=act.at,
            by_id=act.by, key=act.key,
        )
    )  # fmt: skip


def _in_pieces(act: Act, new: NewLot) -> list[Pick]:
    picks = []
    for part in new.parts:
        row = {"lot_id": new.id, "weight": part.count, "unit": part.unit.value}
        key = act.conn.execute(insert(pieces).values(row)).inserted_primary_key
        assert key is not None
        picks.append(Pick(new.id, part.count, part.unit.value, key[0]))
    return picks


def cut_from(act: Act, parent_id: str, way: tuple[str, str], new: NewLot, reason: str) -> None:
    """Make `new` out of the weight of another lot, moving it from the first place to the second."""
    make_lot(act, new)
    unit = new.weight.unit.value
    whole = [Pick(new.id, new.weight.count, unit)]
    for taken in _in_pieces(act, new) or whole:
        given = Pick(parent_id, taken.count, unit)
        move_id = pass_on(act, given, taken, way, reason)
        link(act, move_id, parent_id, new.id, taken.count)


def give_back(
    act: Act, child: Iterable[Pick], way: tuple[str, str], parent_id: str, reason: str, *,
    line_id: int | None = None,
) -> None:  # fmt: skip
    """Give weight of a lot back to the lot it was cut from."""
    for given in child:
        taken = Pick(parent_id, given.count, given.unit)
        move_id = pass_on(act, given, taken, way, reason, line_id=line_id)
        link(act, move_id, parent_id, given.lot_id, -given.count)


def places_of(conn: Connection, lot_id: str) -> dict[str, int]:
    """Return what a lot has at each place, in counts; places with nothing are left out."""
    total = func.sum(_entry.delta)
    rows = conn.execute(
        select(_entry.place, total.label("total"))
        .where(_entry.lot_id == lot_id)
        .group_by(_entry.place)
        .having(total != 0)
    )
    return {row.place: int(row.total) for row in rows}


def at_place(conn: Connection, lot_id: str, place: str) -> list[Pick]:
    """Return what a lot has at one place, piece by piece where it has pieces."""
    total = func.sum(_entry.delta).label("total")
    rows = conn.execute(
        select(_entry.piece_id, func.min(_entry.unit).label("unit"), total)
        .where(_entry.lot_id == lot_id, _entry.place == place)
        .group_by(_entry.piece_id)
        .having(total > 0)
        .order_by(_entry.piece_id)
    )
    return [Pick(lot_id, int(row.total), row.unit, row.piece_id) for row in rows]
