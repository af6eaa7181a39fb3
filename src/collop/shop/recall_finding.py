"""What a recall finds of its lots: where weight is, who has it, tickets, mince lots, balance."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from math import isqrt

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.measures import Money, Weight, WeightUnit
from collop.shop.day_tables import makings, ticket_events, tickets
from collop.shop.hook import booking_id
from collop.shop.model import Settings
from collop.shop.recall_model import (
    AffectedLot,
    Balance,
    Customer,
    FoundTicket,
    Taken,
    TouchedMaking,
)
from collop.shop.recall_spread import Spread, chunks
from collop.shop.store import AnyRow
from collop.shop.tables import (
    booking_events,
    booking_lines,
    bookings,
    case_lines,
    ledger_entries,
    lots,
)

__all__ = [
    "affected",
    "balance_of",
    "customers_of",
    "lot_rows",
    "makings_of",
    "places_of_lots",
    "taken_of",
    "tickets_of",
]

_entry = ledger_entries.c


def places_of_lots(conn: Connection, names: Iterable[str]) -> dict[str, dict[str, int]]:
    """Return what each lot has, by place, in counts."""
    total = func.sum(_entry.delta)
    found: dict[str, dict[str, int]] = defaultdict(dict)
    for some in chunks(names):
        rows = conn.execute(
            select(_entry.lot_id, _entry.place, total.label("total"))
            .where(_entry.lot_id.in_(some))
            .group_by(_entry.lot_id, _entry.place)
            .having(total != 0)
        )
        for row in rows:
            found[row.lot_id][row.place] = int(row.total)
    return found


def lot_rows(conn: Connection, names: Iterable[str]) -> dict[str, AnyRow]:
    """Return the rows of lots, by id."""
    found: dict[str, AnyRow] = {}
    for some in chunks(names):
        found |= {row.id: row for row in conn.execute(select(lots).where(lots.c.id.in_(some)))}
    return found


def affected(
    spread: Spread, rows: Mapping[str, AnyRow], places: Mapping[str, Mapping[str, int]]
) -> tuple[AffectedLot, ...]:
    """Return each affected lot, those first that others were made from."""

    def one(name: str) -> AffectedLot:
        row = rows[name]
        unit = WeightUnit(row.unit)
        return AffectedLot(
            lot_id=name, what=row.what, kind=row.kind or "stock", species=row.species,
            case_id=row.case_id, made=row.since, weight_in=Weight(row.weight_in, unit),
            share=spread.shares[name], from_lots=tuple(spread.parents.get(name, ())),
            where=tuple(
                (place, Weight(count, unit)) for place, count in sorted(places[name].items())
            ),
        )  # fmt: skip

    return tuple(one(name) for name in spread.order)


def taken_of(
    conn: Connection, names: Iterable[str], rows: Mapping[str, AnyRow]
) -> dict[int, list[Taken]]:
    """Return what bookings hold or took of the lots, by booking."""
    total = func.sum(_entry.delta)
    found: dict[int, list[Taken]] = defaultdict(list)
    for some in chunks(names):
        query = conn.execute(
            select(
                booking_lines.c.booking_number, _entry.lot_id, _entry.place,
                total.label("total"), func.max(_entry.at).label("at"),
            )
            .join(booking_lines, booking_lines.c.id == _entry.booking_line_id)
            .where(_entry.lot_id.in_(some), _entry.place.in_(("booked", "sold")))
            .group_by(booking_lines.c.booking_number, _entry.lot_id, _entry.place)
            .having(total > 0)
            .order_by(booking_lines.c.booking_number, _entry.lot_id)
        )  # fmt: skip
        for row in query:
            lot, is_sold = rows[row.lot_id], row.place == "sold"
            weight = Weight(int(row.total), WeightUnit(lot.unit))
            taken = Taken(row.lot_id, lot.what, weight, is_sold, row.at if is_sold else None)
            found[row.booking_number].append(taken)
    return found


def customers_of(conn: Connection, taken: Mapping[int, Sequence[Taken]]) -> tuple[Customer, ...]:
    """Return whom to call: those who have it first, then in the order of collection."""
    numbers = list(taken)
    last = (
        select(func.max(booking_events.c.seq).label("seq"))
        .where(booking_events.c.booking_number.in_(numbers))
        .group_by(booking_events.c.booking_number)
        .subquery()
    )
    rows = conn.execute(
        select(bookings, booking_events.c.state)
        .join(booking_events, booking_events.c.booking_number == bookings.c.number)
        .join(last, last.c.seq == booking_events.c.seq)
        .order_by(bookings.c.collect_at, bookings.c.number)
    )
    found = [
        Customer(
            booking_id(row.number), row.name, row.phone_end, row.collect_at, row.state,
            tuple(taken[row.number]),
        )
        for row in rows
    ]  # fmt: skip
    return tuple(sorted(found, key=lambda one: not one.has_it))


def tickets_of(conn: Connection, names: Iterable[str], currency: str) -> tuple[FoundTicket, ...]:
    """Return the tickets of the lots, by number."""
    void = select(ticket_events.c.ticket_number).where(ticket_events.c.what == "void")
    gone = set(conn.scalars(void))
    found: list[FoundTicket] = []
    for some in chunks(names):
        query = conn.execute(
            select(tickets, booking_lines.c.booking_number, case_lines.c.name)
            .join(case_lines, case_lines.c.id == tickets.c.case_id)
            .outerjoin(booking_lines, booking_lines.c.id == tickets.c.booking_line_id)
            .where(tickets.c.lot_id.in_(some))
        )
        found += [
            FoundTicket(
                ticket_id=f"T{row.number}", lot_id=row.lot_id, what=row.name,
                net=Weight(row.net, WeightUnit(row.unit)), total=Money(row.total, currency),
                at=row.at, is_void=row.number in gone,
                booking_id=None if row.booking_number is None else booking_id(row.booking_number),
            )
            for row in query
        ]  # fmt: skip
    return tuple(sorted(found, key=lambda one: int(one.ticket_id[1:])))


def makings_of(conn: Connection, names: Iterable[str]) -> tuple[TouchedMaking, ...]:
    """Return the mince lots and batches that are among the lots."""
    found: list[TouchedMaking] = []
    for some in chunks(names):
        rows = conn.execute(
            select(makings).where(makings.c.lot_id.in_(some)).order_by(makings.c.done_at)
        )
        found += [
            TouchedMaking(row.code, row.kind, row.name, row.lot_id, row.done_at) for row in rows
        ]
    return tuple(found)


def balance_of(
    spread: Spread, places: Mapping[str, Mapping[str, int]], unit: WeightUnit, chosen: Settings
) -> Balance:
    """Return what came in against where it is."""
    sums: dict[str, int] = defaultdict(int)
    for by_place in places.values():
        for place, count in by_place.items():
            sums[place] += count
    # each of the lots was weighed once; independent errors add as squares
    error = isqrt(len(spread.order) * chosen.scale_step.count**2)
    return Balance(
        came_in=Weight(spread.came_in, unit), others=Weight(spread.others, unit),
        places=tuple(
            (place, Weight(count, unit)) for place, count in sorted(sums.items()) if count
        ),
        error=Weight(error, unit),
    )  # fmt: skip
