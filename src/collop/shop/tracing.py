"""From any lot up to its animal and farm, and down to every other lot of that animal."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.errors import NotFound
from collop.measures import Weight, WeightUnit
from collop.shop.hook import booking_id
from collop.shop.knife_model import Origin, Trace, TracedLot
from collop.shop.knife_tables import deliveries, lot_links
from collop.shop.ledger import held_by
from collop.shop.quotes import number_in
from collop.shop.store import AnyRow
from collop.shop.tables import booking_lines, ledger_entries, lots

__all__ = [
    "animals_last", "climb", "descend", "has_parent", "lots_of_booking", "origins_of", "trace",
]  # fmt: skip

_entry = ledger_entries.c


@dataclass(frozen=True, slots=True)
class Step:
    """A lot as it was reached: from which, and in how many links."""

    lot_id: str
    parent_id: str | None
    depth: int


def _level(conn: Connection, names: Iterable[str], *, down: bool) -> Sequence[AnyRow]:
    """Return the links out of lots, or into them, in the order of their names."""
    side = lot_links.c.parent_id if down else lot_links.c.child_id
    return conn.execute(
        select(lot_links.c.parent_id, lot_links.c.child_id)
        .where(side.in_(list(names)))
        .group_by(lot_links.c.parent_id, lot_links.c.child_id)
        .order_by(lot_links.c.child_id if down else lot_links.c.parent_id, lot_links.c.parent_id)
    ).all()


def climb(conn: Connection, lot_ids: Iterable[str]) -> list[Step]:
    """Return the lots above, nearest first; a mince lot may have many, at any depth."""
    seen: dict[str, Step] = {}
    level, depth = list(lot_ids), 0
    while level:
        depth += 1
        rows = _level(conn, level, down=False)
        level = list(dict.fromkeys(row.parent_id for row in rows if row.parent_id not in seen))
        for lot_id in level:
            seen[lot_id] = Step(lot_id, None, depth)
    return list(seen.values())


def descend(conn: Connection, roots: Sequence[str]) -> list[Step]:
    """Return every lot below, with the one it was cut from, level by level to the end."""
    seen = {lot_id: Step(lot_id, None, 0) for lot_id in sorted(set(roots))}
    level, depth = list(seen), 0
    while level:
        depth += 1
        found = [row for row in _level(conn, level, down=True) if row.child_id not in seen]
        level = []
        for row in found:
            if row.child_id not in seen:
                seen[row.child_id] = Step(row.child_id, row.parent_id, depth)
                level.append(row.child_id)
    return list(seen.values())


def _where(
    conn: Connection, lot_ids: Sequence[str]
) -> tuple[dict[str, list[tuple[str, int]]], dict[str, set[int]]]:
    total = func.sum(_entry.delta)
    rows = conn.execute(
        select(_entry.lot_id, _entry.place, total.label("total"))
        .where(_entry.lot_id.in_(lot_ids))
        .group_by(_entry.lot_id, _entry.place)
        .having(total != 0)
    )
    places: dict[str, list[tuple[str, int]]] = defaultdict(list)
    for row in rows:
        places[row.lot_id].append((row.place, int(row.total)))
    taken = conn.execute(
        select(_entry.lot_id, booking_lines.c.booking_number)
        .join(booking_lines, booking_lines.c.id == _entry.booking_line_id)
        .where(_entry.lot_id.in_(lot_ids), _entry.place.in_(("booked", "sold")))
        .group_by(_entry.lot_id, booking_lines.c.booking_number)
        .having(total > 0)
        .order_by(booking_lines.c.booking_number)
    )
    numbers: dict[str, set[int]] = defaultdict(set)
    for line in taken:
        numbers[line.lot_id].add(line.booking_number)
    return places, numbers


def _traced(conn: Connection, steps: Sequence[Step]) -> tuple[TracedLot, ...]:
    ids = [step.lot_id for step in steps]
    rows = {row.id: row for row in conn.execute(select(lots).where(lots.c.id.in_(ids)))}
    places, numbers = _where(conn, ids)

    def one(step: Step, row: AnyRow) -> TracedLot:
        unit = WeightUnit(row.unit)
        return TracedLot(
            lot_id=row.id, parent_id=step.parent_id, what=row.what, kind=row.kind or "stock",
            weight=Weight(row.weight_in, unit), at=row.since, depth=step.depth,
            where=tuple((place, Weight(count, unit)) for place, count in sorted(places[row.id])),
            bookings=tuple(booking_id(number) for number in sorted(numbers[row.id])),
        )  # fmt: skip

    return tuple(one(step, rows[step.lot_id]) for step in steps)


def origins_of(conn: Connection, roots: Sequence[str]) -> tuple[Origin, ...]:
    """Return where lots came from: farm, plant and day of kill, as far as it was written."""
    rows = conn.execute(
        select(lots.c.id, lots.c.species, lots.c.farm, lots.c.since, deliveries.c.killed_on,
               deliveries.c.at, deliveries.c.establishment)
        .outerjoin(deliveries, deliveries.c.lot_id == lots.c.id)
        .where(lots.c.id.in_(roots))
        .order_by(lots.c.id)
    )  # fmt: skip
    return tuple(
        Origin(row.id, row.species, row.farm or "", row.killed_on, row.at or row.since,
               row.establishment or "")
        for row in rows
    )  # fmt: skip


def animals_last(conn: Connection, most: int) -> tuple[Origin, ...]:
    """Return the animals that came last, newest first, delivered or older than deliveries."""
    linked = select(lot_links.c.child_id)
    rows = conn.scalars(
        select(lots.c.id)
        .where(lots.c.kind.in_(("animal", "piece")), lots.c.id.not_in(linked))
        .order_by(lots.c.since.desc(), lots.c.id)
        .limit(most)
    )
    return origins_of(conn, rows.all())


def trace(conn: Connection, lot_id: str) -> Trace:
    """Return the way from a lot to its animal, and all lots of that animal.

    Raises
    ------
    NotFound
        If there is no such lot.
    """
    if conn.scalar(select(lots.c.id).where(lots.c.id == lot_id)) is None:
        raise NotFound(f"There is no lot {lot_id[:60]!r}; scan the ticket again.", where="lot")
    above = climb(conn, [lot_id])
    parents = {step.lot_id for step in above}
    roots = [step.lot_id for step in above if not has_parent(conn, step.lot_id)] or [lot_id]
    below = descend(conn, roots)
    sisters = [step for step in below if step.lot_id not in parents and step.lot_id != lot_id]
    up = [Step(lot_id, None, 0), *above]
    return Trace(lot_id, _traced(conn, up), _traced(conn, sisters), origins_of(conn, roots))


def has_parent(conn: Connection, lot_id: str) -> bool:
    """Tell whether a lot was cut from another."""
    query = select(lot_links.c.seq).where(lot_links.c.child_id == lot_id).limit(1)
    return conn.execute(query).first() is not None


def lots_of_booking(conn: Connection, name: str) -> tuple[str, ...]:
    """Return the lots a booking holds or took, to trace each of them."""
    number = number_in("H", name, "booking")
    lines = conn.scalars(
        select(booking_lines.c.id).where(booking_lines.c.booking_number == number)
    ).all()
    held = [pick.lot_id for line in lines for pick in held_by(conn, line)]
    sold = conn.scalars(
        select(_entry.lot_id)
        .where(_entry.booking_line_id.in_(lines), _entry.place == "sold")
        .group_by(_entry.lot_id)
        .having(func.sum(_entry.delta) > 0)
    ).all()
    return tuple(dict.fromkeys([*held, *sold]))
