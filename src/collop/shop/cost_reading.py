"""What the ledger knows of cost: the lots that are wanted and all they were cut from, as sums."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.measures import UnitPrice, Weight, minor_places
from collop.shop.board import price_from
from collop.shop.cost_flow import Cost, Cutting, CuttingPart, Door, History, worth_per_count
from collop.shop.knife_tables import (
    break_events,
    breaks,
    cutting_styles,
    deliveries,
    lot_links,
    style_parts,
    weighings,
)
from collop.shop.model import Settings
from collop.shop.receiving import cost_of
from collop.shop.store import AnyRow
from collop.shop.tables import board_prices, ledger_entries, lots

__all__ = ["all_lots", "links_of", "lots_above", "read_history", "some_of"]

# databases have a limit to what a question may name
_MOST_NAMED = 500
_entry = ledger_entries.c


def some_of(names: Iterable[str]) -> Iterator[list[str]]:
    """Yield the names, so many at a time."""
    wanted = sorted(set(names))
    for at in range(0, len(wanted), _MOST_NAMED):
        yield wanted[at : at + _MOST_NAMED]


def all_lots(conn: Connection) -> list[str]:
    """Return every lot there ever was."""
    return list(conn.scalars(select(lots.c.id)))


def lots_above(conn: Connection, wanted: Iterable[str]) -> set[str]:
    """Return the lots and all they were cut from."""
    found = set(wanted)
    level = found
    while level:
        parents: set[str] = set()
        for names in some_of(level):
            query = select(lot_links.c.parent_id).where(lot_links.c.child_id.in_(names))
            parents.update(conn.scalars(query.distinct()))
        level = parents - found
        found = found | level
    return found


def _places(conn: Connection, wanted: Iterable[str]) -> dict[str, dict[str, int]]:
    found: dict[str, dict[str, int]] = {lot: {} for lot in wanted}
    total = func.sum(_entry.delta)
    for names in some_of(found):
        rows = conn.execute(
            select(_entry.lot_id, _entry.place, total.label("total"))
            .where(_entry.lot_id.in_(names))
            .group_by(_entry.lot_id, _entry.place)
            .having(total != 0)
        )
        for row in rows:
            found[row.lot_id][row.place] = int(row.total)
    return found


def links_of(conn: Connection, wanted: Iterable[str]) -> dict[str, dict[str, int]]:
    """Return what each lot gave to each of its children, the wanted ones and their sisters."""
    found: dict[str, dict[str, int]] = defaultdict(dict)
    total = func.sum(lot_links.c.count)
    for names in some_of(wanted):
        rows = conn.execute(
            select(lot_links.c.parent_id, lot_links.c.child_id, total.label("total"))
            .where(lot_links.c.parent_id.in_(names))
            .group_by(lot_links.c.parent_id, lot_links.c.child_id)
            .having(total > 0)
        )
        for row in rows:
            found[row.parent_id][row.child_id] = int(row.total)
    return found


def _doors(conn: Connection, chosen: Settings, wanted: Iterable[str]) -> dict[str, Door]:
    found = {}
    for names in some_of(wanted):
        for row in conn.execute(select(deliveries).where(deliveries.c.lot_id.in_(names))):
            paid = cost_of(row, chosen)
            if paid is None:
                found[row.lot_id] = Door(None, f"The delivery of {row.lot_id} tells no price.")
            else:
                haulage = Fraction(row.haulage)
                found[row.lot_id] = Door(Cost(invoice=paid - haulage, haulage=haulage))
    return found


@dataclass(frozen=True, slots=True)
class _Prices:
    """Every price the board ever had of some lines, per count, in the order they came in force."""

    starts: Mapping[str, Sequence[datetime]]
    prices: Mapping[str, Sequence[UnitPrice]]

    def at(self, case_id: str | None, moment: datetime) -> Fraction | None:
        """Return the price in force then, or else the first the line had; None without any."""
        starts = self.starts.get(case_id or "")
        if not starts:
            return None
        price = self.prices[case_id or ""][max(bisect_right(starts, moment) - 1, 0)]
        return price.minor / Weight.of(1, price.per).count


def _prices(conn: Connection, chosen: Settings, case_ids: Iterable[str]) -> _Prices:
    starts: dict[str, list[datetime]] = defaultdict(list)
    prices: dict[str, list[UnitPrice]] = defaultdict(list)
    row = board_prices.c
    for names in some_of(case_ids):
        query = select(board_prices).where(row.case_id.in_(names)).order_by(row.from_at, row.seq)
        for one in conn.execute(query):
            starts[one.case_id].append(one.from_at)
            prices[one.case_id].append(price_from(one.amount, one.per, chosen.currency))
    return _Prices(starts, prices)


def _cut_at(conn: Connection, wanted: Iterable[str]) -> dict[str, AnyRow]:
    """Return the break of each piece that has one which was not put back on the rail."""
    newest = select(break_events.c.break_number, func.max(break_events.c.seq).label("seq"))
    last = newest.group_by(break_events.c.break_number).subquery()
    found: dict[str, AnyRow] = {}
    for names in some_of(wanted):
        rows = conn.execute(
            select(breaks, break_events.c.what, cutting_styles.c.labour_minutes,
                   cutting_styles.c.name.label("style_name"))
            .join(cutting_styles, cutting_styles.c.id == breaks.c.style_id)
            .outerjoin(last, last.c.break_number == breaks.c.number)
            .outerjoin(break_events, break_events.c.seq == last.c.seq)
            .where(breaks.c.lot_id.in_(names))
            .order_by(breaks.c.number)
        )  # fmt: skip
        found |= {row.lot_id: row for row in rows if row.what != "put back"}
    return found


def _parts(conn: Connection, style_ids: Iterable[str]) -> dict[str, list[AnyRow]]:
    found: dict[str, list[AnyRow]] = defaultdict(list)
    for names in some_of(style_ids):
        query = select(style_parts).where(style_parts.c.style_id.in_(names))
        for row in conn.execute(query.order_by(style_parts.c.style_id, style_parts.c.position)):
            found[row.style_id].append(row)
    return found


def _weighed(conn: Connection, numbers: Sequence[int]) -> dict[int, dict[int, dict[str, int]]]:
    """Return the standing weighings by break, part and lot."""
    found: dict[int, dict[int, dict[str, int]]] = defaultdict(lambda: defaultdict(dict))
    for at in range(0, len(numbers), _MOST_NAMED):
        some = numbers[at : at + _MOST_NAMED]
        rows = conn.execute(select(weighings).where(weighings.c.break_number.in_(some))).all()
        undone = {row.takes_back for row in rows}
        for row in rows:
            if row.takes_back is None and row.seq not in undone:
                found[row.break_number][row.part_id][row.lot_id] = row.weight
    return found


def _notes(row: AnyRow, parts: Sequence[CuttingPart]) -> tuple[str, ...]:
    """Return what had to be assumed for a break."""
    said = []
    if row.labour_minutes is None:
        said.append(f"{row.style_name} tells no minutes: no labour is counted.")
    bare = [part.name for part in parts if part.kind == "cut" and part.price is None]
    if bare:
        names = ", ".join(bare)
        said.append(f"Not on the board, so valued at the mean of the other cuts: {names}.")
    return tuple(said)


def _cutting(
    row: AnyRow, style: Sequence[AnyRow], weighed: Mapping[int, Mapping[str, int]],
    prices: _Prices, chosen: Settings,
) -> Cutting:  # fmt: skip
    parts = tuple(
        CuttingPart(one.name, one.kind, Fraction(one.share), prices.at(one.case_id, row.at),
                    dict(weighed.get(one.id, {})))
        for one in style
    )  # fmt: skip
    scale = 10 ** minor_places(chosen.currency)
    labour = Fraction(row.labour_minutes or 0, 60) * Fraction(chosen.labour_per_hour) * scale
    return Cutting(row.start, labour, parts, _notes(row, parts))


def _cuttings(conn: Connection, chosen: Settings, wanted: Iterable[str]) -> dict[str, Cutting]:
    """Return the breaks of which something is weighed, by piece."""
    rows = _cut_at(conn, wanted)
    weighed = _weighed(conn, sorted(row.number for row in rows.values()))
    rows = {lot: row for lot, row in rows.items() if row.number in weighed}
    styles = _parts(conn, {row.style_id for row in rows.values()})
    lines = {part.case_id for style in styles.values() for part in style if part.case_id}
    prices = _prices(conn, chosen, lines)
    return {
        lot: _cutting(row, styles[row.style_id], weighed[row.number], prices, chosen)
        for lot, row in rows.items()
    }


def read_history(conn: Connection, chosen: Settings, wanted: Iterable[str]) -> History:
    """Return what is needed to tell the cost of some lots.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    chosen : Settings
        Currency, unit, worths and labour are those of now.
    wanted : iterable of str
        Lots; all they were cut from is read with them, and nothing else.
    """
    above = lots_above(conn, wanted)
    legal = Weight.of(1, chosen.legal_unit).count
    return History(
        places=_places(conn, above), links=links_of(conn, above),
        doors=_doors(conn, chosen, above), cuttings=_cuttings(conn, chosen, above),
        worths=worth_per_count(chosen.worths, 10 ** minor_places(chosen.currency), legal),
    )  # fmt: skip
