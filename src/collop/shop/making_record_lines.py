"""What the tables say of a making: materials with where they come from, events, mass."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.measures import Weight, WeightUnit
from collop.shop.day_tables import making_events, making_parts, makings
from collop.shop.knife_tables import deliveries, lot_links
from collop.shop.ledger import DOOR
from collop.shop.lots import lot_row, places_of, read_unit
from collop.shop.making_model import MINCE, MakingEvent, Mass, Material, Output
from collop.shop.recall_spread import roots_of
from collop.shop.store import AnyRow
from collop.shop.tables import ledger_entries, lots

__all__ = [
    "Source", "contains_above", "last_day", "left_of", "leftover_day", "load_events", "load_mass",
    "load_materials", "load_outputs", "lots_of_supplier", "sources_of",
]  # fmt: skip

_LOST = ("drip", "bin")


@dataclass(frozen=True, slots=True)
class Source:
    """Where a lot comes from at the top: an animal, a bought-in lot, or stock without either.

    `supplier_lot` is the carcass tag of an animal; any of them may be empty.
    """

    lot_id: str
    farm: str
    establishment: str
    supplier_lot: str
    produced_on: date | None
    is_animal: bool


def sources_of(conn: Connection, lot_id: str) -> list[Source]:
    """Return the tops of the way up from a lot, each once; what was taken back whole is none."""
    roots, _ = roots_of(conn, [lot_id], "source")
    rows = conn.execute(
        select(lots.c.id, lots.c.kind, lots.c.farm, deliveries.c.number,
               deliveries.c.establishment, deliveries.c.killed_on)
        .outerjoin(deliveries, deliveries.c.lot_id == lots.c.id)
        .where(lots.c.id.in_(roots))
        .order_by(lots.c.id)
    )  # fmt: skip
    return [_source(conn, row) for row in rows]


def _source(conn: Connection, row: AnyRow) -> Source:
    if row.kind in {"animal", "piece"} or row.number is not None:
        return Source(
            row.id, row.farm or "", row.establishment or "", row.id, row.killed_on, is_animal=True
        )
    part = making_parts.c
    query = select(making_parts).where(part.lot_id == row.id, part.takes_back.is_(None))
    told = conn.execute(query.order_by(part.seq).limit(1)).first()
    if told is None:
        return Source(row.id, row.farm or "", "", "", None, is_animal=False)
    filled = _filled(_event_rows(conn, told.making_number)).get(told.seq, {})
    return Source(
        row.id, row.farm or "", filled.get("establishment", told.establishment),
        filled.get("supplier_lot", told.supplier_lot), _day(filled) or told.produced_on,
        is_animal=False,
    )  # fmt: skip


def _day(filled: Mapping[str, Any]) -> date | None:
    text = filled.get("produced_on")
    return None if text is None else date.fromisoformat(text)


def _event_rows(conn: Connection, number: int) -> Sequence[AnyRow]:
    return conn.execute(
        select(making_events).where(making_events.c.making_number == number)
        .order_by(making_events.c.seq)
    ).all()  # fmt: skip


def _undone(rows: Sequence[AnyRow]) -> set[int]:
    return {row.fields["takes_back"] for row in rows if row.what == "taken back"}


def _filled(rows: Sequence[AnyRow]) -> dict[int, dict[str, Any]]:
    """Return what was filled in since, by line; the newest of each field counts."""
    undone = _undone(rows)
    found: dict[int, dict[str, Any]] = {}
    for row in rows:
        if row.what == "filled" and row.seq not in undone and "part" in row.fields:
            told = {key: value for key, value in row.fields.items() if key != "part"}
            found.setdefault(row.fields["part"], {}).update(told)
    return found


def load_events(conn: Connection, number: int) -> tuple[MakingEvent, ...]:
    """Return the further lines of a making in the order they were written."""
    rows = _event_rows(conn, number)
    undone = _undone(rows)
    return tuple(
        MakingEvent(
            row.seq, row.what, row.lot_id, _weight(row), dict(row.fields), row.note, row.done_at,
            row.at, row.by_id, row.seq in undone,
        )
        for row in rows
    )  # fmt: skip


def _weight(row: AnyRow) -> Weight | None:
    return None if row.weight is None else Weight(row.weight, WeightUnit(row.unit))


def _kind(making: AnyRow, row: AnyRow) -> str:
    if row.carry_over_of is not None:
        return "carry-over"
    if row.lot_id is None or row.lot_id.startswith(f"{making.code}-N"):
        return "ingredient"
    return "bought" if row.lot_id.startswith(f"{making.code}-S") else "own"


def load_materials(conn: Connection, making: AnyRow) -> tuple[Material, ...]:
    """Return what went into a making, in the order it was written."""
    rows = conn.execute(
        select(making_parts).where(making_parts.c.making_number == making.number)
        .order_by(making_parts.c.seq)
    ).all()  # fmt: skip
    undone = {row.takes_back for row in rows if row.takes_back is not None}
    filled = _filled(_event_rows(conn, making.number))
    codes = _codes(conn, {row.carry_over_of for row in rows} - {None})
    return tuple(
        _material(conn, making, row, filled.get(row.seq, {}), codes, taken_back=row.seq in undone)
        for row in rows
        if row.takes_back is None
    )


def contains_above(conn: Connection, lot_id: str) -> set[str]:
    """Return the allergens of all that went into a lot, through every making above it.

    As written and as filled in since, so that what is told late counts further down too.
    """
    _, chain = roots_of(conn, [lot_id], "source")
    numbers = conn.scalars(select(makings.c.number).where(makings.c.lot_id.in_(chain))).all()
    back = making_parts.alias("back")
    parts = conn.execute(
        select(making_parts.c.seq, making_parts.c.contains)
        .outerjoin(back, back.c.takes_back == making_parts.c.seq)
        .where(making_parts.c.making_number.in_(numbers), making_parts.c.takes_back.is_(None),
               back.c.seq.is_(None))
    ).all()  # fmt: skip
    events = making_events.c
    filled = _filled(
        conn.execute(
            select(making_events)
            .where(events.making_number.in_(numbers), events.what.in_(("filled", "taken back")))
            .order_by(events.seq)
        ).all()
    )
    told = (filled.get(row.seq, {}).get("contains", row.contains) for row in parts)
    return {word for words in told for word in words or ()}


def lots_of_supplier(conn: Connection, supplier_lot: str) -> list[str]:
    """Return the lots that a supplier's lot came in as, told at once or later.

    Of what was not weighed, such as casing, it is the lot of the making that it went into. Capitals
    do not count; what was told wrongly and corrected since is not found.
    """
    wanted = supplier_lot.lower()
    told = making_events.c.fields["supplier_lot"].as_string()
    later = (
        select(making_events.c.fields["part"].as_integer())
        .where(making_events.c.what == "filled", func.lower(told) == wanted)
    )  # fmt: skip
    query = (
        select(making_parts, makings.c.lot_id.label("making_lot"))
        .join(makings, makings.c.number == making_parts.c.making_number)
        .where(making_parts.c.takes_back.is_(None),
               (func.lower(making_parts.c.supplier_lot) == wanted)
               | making_parts.c.seq.in_(later))
        .order_by(making_parts.c.seq)
    )  # fmt: skip
    found: dict[str, None] = {}
    for row in conn.execute(query).all():
        now = _filled(_event_rows(conn, row.making_number)).get(row.seq, {})
        if now.get("supplier_lot", row.supplier_lot).lower() != wanted:
            continue
        back = select(making_parts.c.seq).where(making_parts.c.takes_back == row.seq)
        if row.lot_id is not None or conn.execute(back).first() is None:
            found[row.lot_id or row.making_lot] = None
    return list(found)


def _codes(conn: Connection, numbers: set[int]) -> dict[int, str]:
    query = select(makings.c.number, makings.c.code).where(makings.c.number.in_(numbers))
    return {row.number: row.code for row in conn.execute(query)}


def _material(
    conn: Connection, making: AnyRow, row: AnyRow, filled: Mapping[str, Any],
    codes: Mapping[int, str], *, taken_back: bool,
) -> Material:  # fmt: skip
    kind = _kind(making, row)
    what = filled.get("what", row.what)
    told = filled.get("contains", row.contains)
    found = sources_of(conn, row.lot_id) if kind == "own" else []
    number = filled.get("establishment", row.establishment)
    lot = filled.get("supplier_lot", row.supplier_lot)
    day = _day(filled) or row.produced_on
    material = Material(
        seq=row.seq, kind=kind, what=what, lot_id=row.lot_id,
        carry_over_of=codes.get(row.carry_over_of), weight=_weight(row),
        contains=None if told is False else tuple(told),
        tags=tuple(one.lot_id for one in found if one.is_animal),
        farms=tuple(dict.fromkeys(one.farm for one in found if one.farm)),
        establishments=_words(number, (one.establishment for one in found)),
        lots=_words(lot, (one.supplier_lot for one in found)),
        dates=tuple(sorted({one for one in (day, *(at.produced_on for at in found)) if one})),
        missing=(), done_at=datetime.fromisoformat(filled.get("done_at", row.at.isoformat())),
        at=row.at, by=row.by_id, taken_back=taken_back,
    )  # fmt: skip
    return _with_missing(making, material, found, (number, lot, day))


def _words(own: str, others: Any) -> tuple[str, ...]:  # noqa: ANN401 -- an iterable of words
    return tuple(dict.fromkeys(word for word in (own, *others) if word))


def _with_missing(
    making: AnyRow, one: Material, found: Sequence[Source], told: tuple[str, str, date | None]
) -> Material:
    """Return the material with what is not known of it; what stands in another record is known."""
    missing = [] if one.what else ["what"]
    if one.kind == "ingredient":
        pairs = [("establishment", told[0]), ("supplier_lot", told[1])]
        missing += [name for name, value in pairs if not value]
        missing += ["contains"] if one.contains is None else []
    elif one.kind == "bought" or (one.kind == "own" and making.kind == MINCE):
        names = ("establishment", "supplier_lot", "produced_on")
        for name, value in zip(names, told, strict=True):
            known = bool(found) and all(getattr(source, name) for source in found)
            if not value and not known:
                missing.append(name)
    return replace(one, missing=tuple(missing))


def load_outputs(conn: Connection, making: AnyRow) -> tuple[Output, ...]:
    """Return every lot that weight of a making went into, in the order they were made."""
    total = func.sum(lot_links.c.count).label("total")
    rows = conn.execute(
        select(lots, total, makings.c.kind.label("making_kind"))
        .join(lot_links, lot_links.c.child_id == lots.c.id)
        .outerjoin(makings, makings.c.lot_id == lots.c.id)
        .where(lot_links.c.parent_id == making.lot_id)
        .group_by(*lots.c, makings.c.kind)
        .having(total > 0)
        .order_by(func.min(lot_links.c.seq))
    )
    return tuple(
        Output(row.id, row.what, Weight(int(row.total), WeightUnit(row.unit)), row.case_id,
               row.use_by, row.making_kind or "case")
        for row in rows
    )  # fmt: skip


def load_mass(
    conn: Connection, making: AnyRow, outputs: Sequence[Output], events: Sequence[MakingEvent]
) -> Mass:
    """Return where the weight of a making is, as the ledger has it."""
    unit = read_unit(lot_row(conn, making.lot_id))
    places = places_of(conn, making.lot_id)
    door = conn.scalar(
        select(func.sum(ledger_entries.c.delta)).where(
            ledger_entries.c.lot_id == making.lot_id, ledger_entries.c.reason.in_(DOOR)
        )
    )
    linked = conn.scalar(
        select(func.sum(lot_links.c.count)).where(lot_links.c.child_id == making.lot_id)
    )
    moved = sum(one.weight.count for one in outputs if one.into == making.kind)
    out = sum(one.weight.count for one in outputs) - moved
    said = sum(
        one.weight.count
        for one in events
        if one.what == "carried" and not one.taken_back and one.weight is not None
    )
    block = places.get("block", 0)
    waiting = min(max(said - moved, 0), block)
    lost = sum(places.get(place, 0) for place in _LOST)
    return Mass(
        came_in=Weight(int(door or 0) + int(linked or 0), unit), out=Weight(out, unit),
        carried=Weight(moved + waiting, unit), waiting=Weight(waiting, unit),
        lost=Weight(lost, unit), left=Weight(block - waiting, unit),
        elsewhere=Weight(sum(places.values()) - block - lost, unit),
    )  # fmt: skip


def left_of(conn: Connection, row: AnyRow) -> Weight:
    """Return what lies on the block of a making of which nothing is said yet."""
    return load_mass(conn, row, load_outputs(conn, row), load_events(conn, row.number)).left


def last_day(conn: Connection, row: AnyRow, seen: frozenset[int] = frozenset()) -> date | None:
    """Return the first day that any material of a making must be used by, through all carry-over.

    None where no material has a day.
    """
    part, back = making_parts.c, making_parts.alias("back")
    standing = (
        select(part.lot_id, part.carry_over_of)
        .outerjoin(back, back.c.takes_back == part.seq)
        .where(part.making_number == row.number, part.takes_back.is_(None), back.c.seq.is_(None))
    )  # fmt: skip
    parts = conn.execute(standing).all()
    days = select(lots.c.use_by).where(
        lots.c.id.in_([one.lot_id for one in parts]), lots.c.use_by.is_not(None)
    )
    found = list(conn.scalars(days))
    before = {one.carry_over_of for one in parts} - {None, row.number, *seen}
    seen |= {row.number, *before}
    rows = conn.execute(select(makings).where(makings.c.number.in_(before))).all()
    found.extend(leftover_day(conn, one, seen) for one in rows)
    return min((day for day in found if day is not None), default=None)


def leftover_day(conn: Connection, row: AnyRow, seen: frozenset[int] = frozenset()) -> date | None:
    """Return the last day of what is left of a making: that of its packs and of its materials."""
    packs = [out.use_by for out in load_outputs(conn, row) if out.use_by is not None]
    own = last_day(conn, row, seen)
    return min([*packs, *([] if own is None else [own])], default=None)
