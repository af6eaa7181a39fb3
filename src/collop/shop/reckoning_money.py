"""Whose money it is: each slip line, and what came back of it, split over animals to the cent.

A line's money goes over the lots it took by weight, and from each lot to the animals it is made
of; what came without a delivery is of no animal. Shares are rounded once, the largest rest first,
so that they sum to the line.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.engine import Connection

from collop.shop.cost_reading import links_of, lots_above, some_of
from collop.shop.knife_tables import deliveries
from collop.shop.made_of import MadeOf, apportion
from collop.shop.tables import booking_lines, bookings, ledger_entries, slip_lines, slips
from collop.shop.week_tables import returned_lines

__all__ = [
    "REST", "Split", "Taking", "lots_taken", "made_of_animals", "read_takings", "split_takings",
]  # fmt: skip

#: Stock that came without a delivery is of no animal.
REST = ""
_entry = ledger_entries.c
Taken = Mapping[tuple[int, str], Mapping[str, int]]


@dataclass(frozen=True, slots=True)
class Taking:
    """A line of a slip, or what came back of one: then minor units and counts are below zero."""

    line_id: int
    booking_number: int
    name: str
    kind: str
    case_id: str
    at: datetime
    minor: int
    count: int
    key: str
    sale_key: str

    @property
    def is_return(self) -> bool:
        """Tell whether it is something that came back."""
        return self.key != self.sale_key


@dataclass(frozen=True, slots=True)
class Split:
    """A taking with the minor units and counts of each animal; `REST` is of none."""

    taking: Taking
    minor: Mapping[str, int]
    count: Mapping[str, int]


def _sales(conn: Connection, *conditions: ColumnElement[bool]) -> list[Taking]:
    rows = conn.execute(
        select(
            booking_lines.c.id, booking_lines.c.case_id, bookings.c.number, bookings.c.name,
            bookings.c.kind, slips.c.at, slips.c.key, slip_lines.c.weighed,
            slip_lines.c.line_total,
        )
        .join(slip_lines, slip_lines.c.booking_line_id == booking_lines.c.id)
        .join(slips, slips.c.number == slip_lines.c.slip_number)
        .join(bookings, bookings.c.number == booking_lines.c.booking_number)
        .where(*conditions)
        .order_by(slips.c.number, slip_lines.c.id)
    )  # fmt: skip
    return [
        Taking(row.id, row.number, row.name, row.kind, row.case_id, row.at, row.line_total,
               row.weighed, row.key, row.key)
        for row in rows
    ]  # fmt: skip


def _returns(conn: Connection, *conditions: ColumnElement[bool]) -> list[Taking]:
    back = returned_lines.c
    rows = conn.execute(
        select(
            back.booking_line_id, booking_lines.c.case_id, bookings.c.number, bookings.c.name,
            bookings.c.kind, back.at, back.key, back.weight, back.money,
            slips.c.key.label("sale_key"),
        )
        .join(booking_lines, booking_lines.c.id == back.booking_line_id)
        .join(bookings, bookings.c.number == booking_lines.c.booking_number)
        .join(slips, slips.c.booking_number == bookings.c.number)
        .where(*conditions)
        .order_by(back.number)
    )  # fmt: skip
    return [
        Taking(row.booking_line_id, row.number, row.name, row.kind, row.case_id, row.at,
               -row.money, -row.weight, row.key, row.sale_key)
        for row in rows
    ]  # fmt: skip


def read_takings(
    conn: Connection, *, line_ids: Iterable[int] | None = None,
    since: datetime | None = None, until: datetime | None = None,
) -> list[Taking]:  # fmt: skip
    """Return lines of slips, and what came back, oldest first.

    Parameters
    ----------
    conn : Connection
        A reader.
    line_ids : iterable of int, optional
        Only of these booking lines.
    since, until : datetime, optional
        Only from the first up to, and without, the second; each by its own moment.
    """

    def within(at: ColumnElement[datetime]) -> list[ColumnElement[bool]]:
        found = [] if since is None else [at >= since]
        return found if until is None else [*found, at < until]

    sold, back = within(slips.c.at), within(returned_lines.c.at)
    if line_ids is None:
        found = [*_sales(conn, *sold), *_returns(conn, *back)]
    else:
        found = []
        for some in _numbers(line_ids):
            found += _sales(conn, booking_lines.c.id.in_(some), *sold)
            found += _returns(conn, booking_lines.c.id.in_(some), *back)
    return sorted(found, key=lambda one: one.at)


def _numbers(numbers: Iterable[int], most: int = 500) -> Iterable[list[int]]:
    every = sorted(set(numbers))
    return (every[at : at + most] for at in range(0, len(every), most))


def lots_taken(conn: Connection, takings: Sequence[Taking]) -> Taken:
    """Return what each taking took of each lot, in counts, by booking line and act."""
    total = func.sum(_entry.delta)
    found: dict[tuple[int, str], dict[str, int]] = defaultdict(dict)
    for some in _numbers(one.line_id for one in takings):
        rows = conn.execute(
            select(_entry.booking_line_id, _entry.key, _entry.lot_id, total.label("total"))
            .where(_entry.booking_line_id.in_(some), _entry.place == "sold")
            .group_by(_entry.booking_line_id, _entry.key, _entry.lot_id)
            .having(total != 0)
            .order_by(_entry.lot_id)
        )
        for row in rows:
            assert row.booking_line_id is not None
            found[row.booking_line_id, row.key][row.lot_id] = abs(int(row.total))
    return found


def made_of_animals(
    conn: Connection, lot_ids: Iterable[str],
    links: Mapping[str, Mapping[str, int]] | None = None,
) -> MadeOf:  # fmt: skip
    """Return what lots are made of, by the tag of the delivery each part came with.

    `links` is what lots gave to their children; left out, it is read.
    """
    above = lots_above(conn, lot_ids)
    given = links_of(conn, above) if links is None else links
    into: dict[str, dict[str, int]] = defaultdict(dict)
    for parent, children in given.items():
        for child, count in children.items():
            into[child][parent] = count
    roots: dict[str, str] = {}
    for some in some_of(above):
        tags = conn.scalars(select(deliveries.c.lot_id).where(deliveries.c.lot_id.in_(some)))
        roots |= {tag: tag for tag in tags}
    return MadeOf(roots, into)


def _shares(lots: Mapping[str, int], made: MadeOf) -> dict[str, Fraction]:
    """Return the share of each animal in some lots together, the rest last; they sum to one."""
    whole = sum(lots.values())
    found: dict[str, Fraction] = defaultdict(Fraction)
    for lot, count in lots.items():
        for tag, share in made.of(lot).items():
            found[tag] += share * count / whole
    rest = 1 - sum(found.values(), Fraction(0))
    return {tag: found[tag] for tag in sorted(found)} | {REST: rest}


def split_takings(takings: Sequence[Taking], taken: Taken, made: MadeOf) -> list[Split]:
    """Return each taking split over animals; what came back goes as the lots it came back of."""
    found = []
    for one in takings:
        lots = taken.get((one.line_id, one.key)) or taken.get((one.line_id, one.sale_key), {})
        shares = _shares(lots, made)
        sign = -1 if one.is_return else 1
        money = apportion(abs(one.minor), list(shares.values()))
        count = apportion(abs(one.count), list(shares.values()))
        found.append(
            Split(
                one,
                {tag: sign * part for tag, part in zip(shares, money, strict=True) if part},
                {tag: sign * part for tag, part in zip(shares, count, strict=True) if part},
            )
        )
    return found
