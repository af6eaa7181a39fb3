"""One row for each animal: what it cost, lost, sold and has left, and what that comes to.

Costs flow as `collop.shop.cost_origins` tells, money as `collop.shop.reckoning_money` splits it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.measures import Money, Weight, WeightUnit, round_fraction
from collop.shop.board import board_at
from collop.shop.cost_flow import Cost, History
from collop.shop.cost_origins import OriginCosts, costs_by_origin
from collop.shop.cost_reading import read_history, some_of
from collop.shop.knife_tables import deliveries
from collop.shop.made_of import MadeOf, apportion
from collop.shop.model import Settings
from collop.shop.railing import AIR
from collop.shop.reckoning_left import HELD, Left, left_of
from collop.shop.reckoning_model import AnimalRow, SoldLine
from collop.shop.reckoning_money import (
    Split,
    lots_taken,
    made_of_animals,
    read_takings,
    split_takings,
)
from collop.shop.store import AnyRow
from collop.shop.tables import case_lines, ledger_entries
from collop.shop.tracing import descend

__all__ = ["animal_rows"]

_entry = ledger_entries.c
_NOTHING = Fraction(0)
_UNKNOWN = "The delivery tells no price, so there is no result."


@dataclass(frozen=True, slots=True)
class _Books:
    """All that the rows are told from; counts and minor units, exact."""

    chosen: Settings
    costs: OriginCosts
    history: History
    air: Mapping[str, Fraction]
    binned: Mapping[str, Fraction]
    sold: Mapping[str, Mapping[str, tuple[int, int]]]
    left: Mapping[str, Left]
    names: Mapping[str, str]


def _lines_touched(conn: Connection, lot_ids: Iterable[str]) -> set[int]:
    """Return the booking lines that ever took weight of these lots."""
    found: set[int] = set()
    for some in some_of(lot_ids):
        query = select(_entry.booking_line_id).where(
            _entry.lot_id.in_(some), _entry.place == "sold", _entry.booking_line_id.is_not(None)
        )
        found.update(one for one in conn.scalars(query.distinct()) if one is not None)
    return found


def _ended(
    conn: Connection, lot_ids: Iterable[str], made: MadeOf
) -> tuple[dict[str, Fraction], dict[str, Fraction]]:
    """Return what was lost to air, and what was binned, of each animal."""
    air: dict[str, Fraction] = defaultdict(Fraction)
    binned: dict[str, Fraction] = defaultdict(Fraction)
    for some in some_of(lot_ids):
        rows = conn.execute(
            select(_entry.lot_id, _entry.place, _entry.reason,
                   func.sum(_entry.delta).label("total"))
            .where(_entry.lot_id.in_(some), _entry.place.in_(("drip", "bin")))
            .group_by(_entry.lot_id, _entry.place, _entry.reason)
        )  # fmt: skip
        for row in rows:
            if row.place == "drip" and row.reason != AIR:
                continue
            into = air if row.place == "drip" else binned
            for tag, share in made.of(row.lot_id).items():
                into[tag] += share * int(row.total)
    return air, binned


def _sold_lines(splits: Sequence[Split]) -> dict[str, dict[str, tuple[int, int]]]:
    """Return counts and minor units sold, by animal and case line."""
    found: dict[str, dict[str, tuple[int, int]]] = defaultdict(dict)
    for one in splits:
        for tag in {*one.minor, *one.count}:
            count, minor = found[tag].get(one.taking.case_id, (0, 0))
            found[tag][one.taking.case_id] = (
                count + one.count.get(tag, 0), minor + one.minor.get(tag, 0),
            )  # fmt: skip
    return found


def _read(conn: Connection, tags: Sequence[str], chosen: Settings, now: datetime) -> _Books:
    below = [step.lot_id for step in descend(conn, tags)]
    takings = read_takings(conn, line_ids=_lines_touched(conn, below))
    taken = lots_taken(conn, takings)
    wanted = {*below, *(lot for lots in taken.values() for lot in lots)}
    history = read_history(conn, chosen, wanted)
    made = made_of_animals(conn, wanted, history.links)
    air, binned = _ended(conn, below, made)
    board = board_at(conn, now, chosen.currency)
    return _Books(
        chosen=chosen, history=history, air=air, binned=binned,
        costs=costs_by_origin(history, {lot: lot for lot in history.doors}),
        sold=_sold_lines(split_takings(takings, taken, made)),
        left=left_of(conn, chosen, below, made, board=board, today=now.date()),
        names={row.id: row.name for row in conn.execute(
            select(case_lines.c.id, case_lines.c.name))},
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Teller:
    """Makes the row of one delivery."""

    books: _Books

    def money(self, minor: Fraction | int) -> Money:
        chosen = self.books.chosen
        return Money(round_fraction(Fraction(minor), chosen.rounding), chosen.currency)

    def _costs(self, tag: str, weighed: int) -> dict[str, Money]:
        """Return what is known of the cost; empty where no price was told."""
        door = self.books.history.doors[tag].cost
        if door is None:
            return {}
        at = self.books.costs.places.get(tag, {})
        labour = self.books.costs.labour.get(tag, _NOTHING)
        cost = self.money(door.total + labour)
        made = apportion(cost.minor, [door.invoice, door.haulage, labour])
        lies = [
            at.get("sold", Cost()).total,
            sum((at[place].total for place in HELD if place in at), _NOTHING),
            at.get("bin", Cost()).total,
            at.get("lost", Cost()).total,
        ]
        air = door.paid * self.books.air.get(tag, _NOTHING) / weighed
        in_bin = at.get("bin", Cost())
        names = ("invoice", "haulage", "labour", "sold_cost", "left_cost", "binned_cost",
                 "lost_cost")  # fmt: skip
        found = zip(names, [*made, *apportion(cost.minor, lies)], strict=True)
        return {name: self.money(minor) for name, minor in found} | {
            "cost": cost, "air_money": self.money(air),
            # labour and what was lost before have their own place in the account
            "binned_money": self.money(max(in_bin.total - in_bin.labour - in_bin.shrink, _NOTHING)),
        }  # fmt: skip

    def _lines(self, tag: str) -> tuple[SoldLine, ...]:
        lines = self.books.sold.get(tag, {})
        found = [
            SoldLine(case_id, self.books.names[case_id], Weight(count, WeightUnit.LB),
                     self.money(minor))
            for case_id, (count, minor) in lines.items()
            if count or minor
        ]  # fmt: skip
        return tuple(sorted(found, key=lambda one: (-one.money.minor, one.case_id)))

    def row(self, row: AnyRow) -> AnimalRow:
        """Return the account of one delivery."""
        tag, unit = row.lot_id, WeightUnit(row.unit)
        costs = self._costs(tag, row.weighed)
        left, lines = self.books.left.get(tag, Left()), self._lines(tag)
        sold = self.money(sum(one.money.minor for one in lines))
        door = self.books.history.doors[tag].cost
        each = _NOTHING if door is None else door.paid / row.weighed
        board = self.money(left.value + left.unpriced * each)
        cost = costs.get("cost")
        result = None if cost is None else sold - cost

        def weight(count: Fraction) -> Weight:
            return Weight(round_fraction(count), unit)

        return AnimalRow(
            tag=tag, delivery=row.number, species=row.species, farm=row.farm, came=row.at,
            state=_state(left), weighed=Weight(row.weighed, unit),
            air=weight(self.books.air.get(tag, _NOTHING)),
            sold_weight=Weight(sum(one.weight.count for one in lines), unit),
            left=weight(left.count), left_unpriced=weight(left.unpriced),
            left_past=weight(left.past), binned=weight(self.books.binned.get(tag, _NOTHING)),
            sold=sold, left_board=board, cost=cost, invoice=costs.get("invoice"),
            haulage=costs.get("haulage"), labour=costs.get("labour"),
            air_money=costs.get("air_money"), binned_money=costs.get("binned_money"),
            sold_cost=costs.get("sold_cost"), left_cost=costs.get("left_cost"),
            binned_cost=costs.get("binned_cost"), lost_cost=costs.get("lost_cost"),
            result=result, if_sold=None if result is None else result + board,
            unknown="" if door is not None else _UNKNOWN, notes=self._notes(tag), lines=lines,
        )  # fmt: skip

    def _notes(self, tag: str) -> tuple[str, ...]:
        """Return what was taken for granted at the breaks of an animal."""
        links, cuttings = self.books.history.links, self.books.history.cuttings
        pieces = {tag, *links.get(tag, {})}
        return tuple(dict.fromkeys(
            note for piece in sorted(pieces & set(cuttings)) for note in cuttings[piece].notes
        ))  # fmt: skip


def _state(left: Left) -> str:
    if "rail" in left.places:
        return "hangs" if left.places == {"rail"} else "hangs in part"
    if "block" in left.places:
        return "on the block"
    return "in the case" if left.places else "all gone"


def animal_rows(
    conn: Connection, chosen: Settings, now: datetime, *,
    since: datetime | None = None, tags: Iterable[str] | None = None,
) -> tuple[AnimalRow, ...]:  # fmt: skip
    """Return the accounts of animals, the last that came first.

    Parameters
    ----------
    conn : Connection
        A reader.
    chosen : Settings
        Currency, unit, worths, labour and rounding of now.
    now : datetime
        The board in force, and what is past its use-by.
    since : datetime, optional
        Only those that came then or later.
    tags : iterable of str, optional
        Only these deliveries.
    """
    query = select(deliveries).order_by(deliveries.c.at.desc(), deliveries.c.number.desc())
    if since is not None:
        query = query.where(deliveries.c.at >= since)
    if tags is not None:
        query = query.where(deliveries.c.lot_id.in_(list(tags)))
    rows = conn.execute(query).all()
    if not rows:
        return ()
    teller = _Teller(_read(conn, [row.lot_id for row in rows], chosen, now))
    return tuple(teller.row(row) for row in rows)
