"""The case: on hand, booked and free of every line, and what it is worth."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.measures import (
    Money,
    UnitPrice,
    Weight,
    WeightUnit,
    decimal_of,
    minor_places,
    round_fraction,
)
from collop.shop.board import board_at
from collop.shop.fire_cooks import load_cooks
from collop.shop.fire_model import CaseCook
from collop.shop.learning_cuts import learned_shares
from collop.shop.learning_pace import seen_pace
from collop.shop.ledger import Pick, held_by
from collop.shop.model import BoardValue, CaseLine, Settings
from collop.shop.stock import stock_sums
from collop.shop.store import AnyRow
from collop.shop.tables import booking_lines, case_lines, lots

__all__ = ["board_value", "cover_days", "load_case"]


@dataclass(slots=True)
class _Stock:
    """What the ledger says of one case line."""

    free: int = 0
    booked: int = 0
    past: int = 0
    unit: WeightUnit = WeightUnit.LB
    lot: str | None = None
    use_by: date | None = None
    is_past: bool = False
    pieces: list[Weight] = field(default_factory=list)

    def add(self, row: AnyRow, today: date) -> None:
        """Take in one sum; rows come oldest lot first. Stock past its day is not free."""
        total = int(row.total)
        is_past = row.use_by is not None and row.use_by < today
        if self.lot is None or (self.is_past and not is_past):
            self.lot, self.use_by, self.unit = row.id, row.use_by, WeightUnit(row.unit)
            self.is_past = is_past
        if row.place == "booked":
            self.booked += total
            return
        if is_past:
            self.past += total
            return
        self.free += total
        if row.piece_id is not None:
            self.pieces.append(Weight(total, WeightUnit(row.unit)))

    def let_go(self, pick: Pick) -> None:
        """Count a held pick as free."""
        self.booked -= pick.count
        self.free += pick.count
        if pick.piece_id is not None:
            self.pieces.append(Weight(pick.count, WeightUnit(pick.unit)))


def _stock(conn: Connection, today: date) -> dict[str, _Stock]:
    lot = lots.c
    sums = stock_sums(conn)
    rows = conn.execute(
        select(
            lot.case_id, lot.id, lot.use_by, lot.unit, sums.c.piece_id, sums.c.place, sums.c.total
        )
        .join(lots, lot.id == sums.c.lot_id)
        .where(lot.case_id.is_not(None), sums.c.place.in_(("case", "booked")))
        .order_by(lot.use_by, lot.since, lot.id, sums.c.piece_id)
    )
    found: dict[str, _Stock] = {}
    for row in rows:
        found.setdefault(row.case_id, _Stock()).add(row, today)
    return found


def _leave_out(conn: Connection, stock: dict[str, _Stock], booking_number: int) -> None:
    lines = conn.execute(
        select(booking_lines.c.id, booking_lines.c.case_id).where(
            booking_lines.c.booking_number == booking_number
        )
    ).all()
    for line in lines:
        for pick in held_by(conn, line.id):
            # what was worked on for the booking is of another line of the case by now
            case_id = conn.scalar(select(lots.c.case_id).where(lots.c.id == pick.lot_id))
            stock[case_id or line.case_id].let_go(pick)


def cover_days(free: Weight, usual: Weight | None) -> Decimal | None:
    """Return the days `free` lasts at the usual daily pace, or None if no pace is known."""
    if usual is None or not usual:
        return None
    return decimal_of(Fraction(free.count, usual.count), 2)


def _case_line(
    row: AnyRow, stock: _Stock, price: UnitPrice, today: date, *, unit: WeightUnit,
    cooks: Mapping[str, CaseCook], pace: Fraction | None, boneless: Decimal,
) -> CaseLine:  # fmt: skip
    free = Weight(stock.free, stock.unit)
    return CaseLine(
        id=row.id, name=row.name, species=row.species, form=row.form, price=price,
        on_hand=Weight(stock.free + stock.booked + stock.past, stock.unit),
        booked=Weight(stock.booked, stock.unit), free=free,
        past=Weight(stock.past, stock.unit),
        boneless_fraction=boneless, contains=tuple(row.contains),
        casing=row.casing, grill_sq_in_per_lb=Decimal(row.grill_sq_in_per_lb),
        minutes=(row.minutes_low, row.minutes_high), method=row.method, use_by=stock.use_by,
        days_left=(stock.use_by - today).days if stock.use_by else None,
        styles=dict(row.styles), slots=tuple(row.slots),
        piece_lb=tuple(stock.pieces) if row.by_piece else None, neighbour=row.neighbour,
        cover_days=cover_days(free, None if pace is None else Weight(round_fraction(pace), unit)),
        cook_as=row.cook_as, lot=stock.lot, cook=cooks.get(row.id),
    )  # fmt: skip


def load_case(
    conn: Connection, moment: datetime, chosen: Settings, *, leaving_out: int | None = None
) -> tuple[CaseLine, ...]:
    """Return every case line that has a price, in board order.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    moment : datetime
        Prices in force and days left are those of this moment; stock is that of now.
    chosen : Settings
        Currency and unit of the shop.
    leaving_out : int, optional
        Number of a booking whose held weight counts as free.
    """
    stock = _stock(conn, moment.date())
    if leaving_out is not None:
        _leave_out(conn, stock, leaving_out)
    prices = board_at(conn, moment, chosen.currency)
    rows = conn.execute(select(case_lines).order_by(case_lines.c.position, case_lines.c.id))
    cooks = load_cooks(conn)
    empty = _Stock(unit=chosen.legal_unit)
    today, unit = moment.date(), chosen.legal_unit
    paces = seen_pace(conn, today, chosen)
    shares = learned_shares(conn, paces.lines)
    return tuple(
        _case_line(
            row,
            stock.get(row.id, empty),
            prices[row.id],
            today,
            unit=unit,
            cooks=cooks,
            pace=paces.pace(row.id),
            boneless=shares.get(row.id, Decimal(row.boneless_fraction)),
        )
        for row in rows
        if row.id in prices
    )


def board_value(lines: Iterable[CaseLine], chosen: Settings) -> BoardValue:
    """Return what the case is worth at board prices: exact products, summed, rounded once."""
    scale = 10 ** minor_places(chosen.currency)
    on_hand = free = Fraction(0)
    for line in lines:
        price = Fraction(line.price.amount) * scale
        on_hand += line.on_hand.exact(line.price.per) * price
        free += line.free.exact(line.price.per) * price
    return BoardValue(
        Money(round_fraction(on_hand, chosen.rounding), chosen.currency),
        Money(round_fraction(free, chosen.rounding), chosen.currency),
    )
