"""A booking before its customer comes: money by line, and the ways out of a short one."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from fractions import Fraction

from sqlalchemy import select
from sqlalchemy.engine import Connection

from collop.measures import Money, Weight, WeightUnit
from collop.shop.case import load_case
from collop.shop.hook import load_booking
from collop.shop.model import Booking, BookingLine, CaseLine, Settings
from collop.shop.pickup_choices import LEFT_OUT, SWAP, TAKE, TOP_UP
from collop.shop.pickup_going import hindrance
from collop.shop.pickup_model import Pickup, PickupLine, Way
from collop.shop.pickup_money import money_now
from collop.shop.pickup_stand_ins import StandIn, stand_in
from collop.shop.pickup_words import Plate, half_cent, per_cent, plate_of
from collop.shop.quotes import number_in
from collop.shop.renewing import Renewal, load_renewals
from collop.shop.store import AnyRow
from collop.shop.tables import booking_lines
from collop.shop.till import totals_of
from collop.shop.till_model import SlipTotals
from collop.shop.week_tables import line_weighings
from collop.spread.problem import DISH_STYLES

__all__ = ["load_pickup", "meat_left"]

_NOTHING = Weight.zero()
_PLATE = "plate"
Part = tuple[str, Money]


@dataclass(frozen=True, slots=True)
class _Desk:
    """What every line of a pick-up is worked out with."""

    booking: Booking
    case: Mapping[str, CaseLine]
    chosen: Settings
    charge: Callable[[Sequence[Part]], SlipTotals]
    weighings: Mapping[str, AnyRow]
    renewals: Mapping[str, Renewal]

    def money(self, line: BookingLine) -> Money:
        return line.comes_to(self.chosen.rounding)

    def parts(self, instead: Mapping[str, list[Part]]) -> list[Part]:
        """Return all lines of the slip, those of `instead` as they would be."""
        found: list[Part] = []
        for line in self.booking.standing:
            found += instead.get(line.id, [(line.case_id, self.money(line))])
        return found


def _share(case: Mapping[str, CaseLine], case_id: str) -> Fraction:
    one = case.get(case_id)
    return Fraction(0) if one is None or one.species == "none" else Fraction(one.boneless_fraction)


def _lean(case: Mapping[str, CaseLine], line: BookingLine, *, booked: bool) -> Fraction:
    """Return the boneless pounds of meat of a line, as it was booked or as it is now."""
    if booked:
        return line.weight.exact(WeightUnit.LB) * _share(case, line.case_id)
    if line.pieces is not None and line.ready is not None and not line.worked.after:
        return line.ready.exact(WeightUnit.LB) * _share(case, line.case_id)
    return sum(
        (weight.exact(WeightUnit.LB) * _share(case, case_id) for case_id, weight in line.held_as),
        Fraction(0),
    )


def meat_left(case: Sequence[CaseLine], booking: Booking) -> Fraction:
    """Return the raw boneless-equivalent pounds of meat that a booking holds."""
    by_id = {one.id: one for one in case}
    return sum((_lean(by_id, line, booked=False) for line in booking.standing), Fraction(0))


def _plate(desk: _Desk, line: BookingLine) -> Plate | None:
    lines = desk.booking.standing
    before = sum((_lean(desk.case, one, booked=True) for one in lines), Fraction(0))
    now = sum((_lean(desk.case, one, booked=False) for one in lines), Fraction(0))
    meats = [one for one in lines if _share(desk.case, one.case_id)]
    style = line.style if len(meats) == 1 and line.style in DISH_STYLES else _PLATE
    return plate_of(before, now, desk.booking.heads, DISH_STYLES[style or _PLATE][0])


def _way(desk: _Desk, line: BookingLine, what: str, instead: StandIn | None, words: str) -> Way:
    parts: list[Part] = []
    if what in {TAKE, TOP_UP}:
        parts.append((line.case_id, desk.money(line)))
    if instead is not None:
        parts.append((instead.case_id, instead.money))
    charged = desk.charge(desk.parts({line.id: parts}))
    money = Money(sum(one.minor for _, one in parts), charged.total.currency)
    return Way(what, instead, money, charged.total, charged.due, words)


def _ways(desk: _Desk, line: BookingLine, short: Weight) -> tuple[Way, ...]:
    case, rule = tuple(desk.case.values()), desk.chosen.rounding
    found = []
    if short > _NOTHING and line.ready is not None:
        found.append(_way(desk, line, TAKE, None, f"Take {line.ready.text()} as it is."))
        top = stand_in(desk.booking, line, short, case, rule)
        if top is not None:
            words = f"Top up with {top.weight.text()} of {top.name}."
            found.append(_way(desk, line, TOP_UP, top, words))
    swap = stand_in(desk.booking, line, line.to_swap, case, rule)
    if swap is not None:
        words = f"Swap all of it for {swap.weight.text()} of {swap.name}."
        found.append(_way(desk, line, SWAP, swap, words))
    found.append(_way(desk, line, LEFT_OUT, None, f"Leave {line.name} out."))
    return tuple(found)


def _line(desk: _Desk, line: BookingLine) -> PickupLine:
    row = desk.weighings.get(line.id)
    short = line.missing
    return PickupLine(
        line=line, short=short, short_pct=per_cent(short, line.weight),
        reason="" if row is None else row.reason, why="" if row is None else row.why,
        lots=line.lots, money=desk.money(line),
        half_cent=half_cent(line.unit_price, line.bought, desk.chosen.rounding),
        plate=_plate(desk, line) if short else None,
        ways=() if line.off else _ways(desk, line, short), renewal=desk.renewals.get(line.id),
    )  # fmt: skip


def _weighings(conn: Connection, number: int, booking_id: str) -> dict[str, AnyRow]:
    rows = conn.execute(
        select(line_weighings, booking_lines.c.position)
        .join(booking_lines, booking_lines.c.id == line_weighings.c.booking_line_id)
        .where(booking_lines.c.booking_number == number)
        .order_by(line_weighings.c.seq)
    )
    return {f"{booking_id}-{row.position}": row for row in rows}


def load_pickup(conn: Connection, name: str, chosen: Settings, now: datetime) -> Pickup:
    """Return a booking as it stands before its customer comes, with every way out of every line.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    name : str
        Booking id.
    chosen : Settings
        Rounding, and the rules of tax and cash.
    now : datetime
        Shop-local; prices of what comes instead are those of now.

    Raises
    ------
    NotFound
        If there is no such booking.
    """
    number = number_in("H", name, "booking")
    booking = load_booking(conn, number, chosen)

    def charge(parts: Sequence[Part]) -> SlipTotals:
        return totals_of(conn, chosen, parts, deposit=booking.deposit, on=now.date())

    case = {one.id: one for one in load_case(conn, now, chosen)}
    renewals = {one.line_id: one for one in load_renewals(conn, booking, now.date())}
    desk = _Desk(booking, case, chosen, charge, _weighings(conn, number, booking.id), renewals)
    money = money_now(conn, booking, chosen, now.date())
    standing = booking.standing
    return Pickup(
        booking=booking, lines=tuple(_line(desk, line) for line in booking.lines),
        total=money.now.total, due=money.now.due, money=money,
        hindrance=hindrance(conn, booking, chosen),
        is_ready=bool(standing) and all(line.ready is not None for line in standing),
        rule=chosen.rounding.value.replace("-", " "),
    )  # fmt: skip
