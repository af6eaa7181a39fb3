"""What each line sold, by day and week, from the slips; and what a price does to it."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

from sqlalchemy import func, select
from sqlalchemy.engine import Connection

from collop.chalk import demand, published_prior
from collop.errors import BadValue, NotFound
from collop.measures import Money, UnitPrice, Weight, decimal_of, minor_places
from collop.shop.chalk_model import WeekOfSales
from collop.shop.model import Settings
from collop.shop.returning import returned_sales
from collop.shop.store import AnyRow
from collop.shop.tables import booking_lines, case_lines, slip_lines, slips

__all__ = [
    "WEEKS", "DaySale", "Line", "at_price", "demand_of", "demand_problem", "line_of", "lines_of",
    "open_days", "pace_of", "per_unit", "sales_by_day", "unit_text", "weeks_of",
]  # fmt: skip

#: How many weeks of sales are looked at, unless asked otherwise.
WEEKS = 26
_MOST_WEEKS = 520
#: After so many weeks with a sale, the shop's own answer to a price is taken as it is.
ENOUGH = 8
#: No price is taken to make more or less than so many times the usual weight sell.
_MOST_TIMES = 20.0
_NO_SALES = (
    "No week of its own sales yet: quantity is its usual daily pace times the days open in a week."
)


@dataclass(frozen=True, slots=True)
class Line:
    """What is written down of a case line: `usual` is its usual daily pace, if it has one."""

    id: str
    name: str
    species: str
    form: str
    boneless: Decimal
    contains: tuple[Any, ...]
    casing: str | None
    by_piece: bool
    usual: Weight | None


@dataclass(frozen=True, slots=True)
class DaySale:
    """What one line sold on one day, in counts of weight and minor units of money."""

    day: date
    count: int
    minor: int


def _line(row: AnyRow, chosen: Settings) -> Line:
    usual = row.usual_per_day
    return Line(
        id=row.id, name=row.name, species=row.species, form=row.form,
        boneless=Decimal(row.boneless_fraction), contains=tuple(row.contains), casing=row.casing,
        by_piece=row.by_piece,
        usual=Weight(usual, chosen.legal_unit) if usual else None,
    )  # fmt: skip


def lines_of(conn: Connection, chosen: Settings) -> dict[str, Line]:
    """Return every case line by its id, in board order."""
    rows = conn.execute(select(case_lines).order_by(case_lines.c.position, case_lines.c.id))
    return {row.id: _line(row, chosen) for row in rows}


def line_of(conn: Connection, case_id: str, chosen: Settings) -> Line:
    """Return one case line, or raise `NotFound`."""
    row = conn.execute(select(case_lines).where(case_lines.c.id == case_id)).first()
    if row is None:
        raise NotFound(f"There is no case line {case_id[:40]!r}; look at the case again.",
                       where="case_id")  # fmt: skip
    return _line(row, chosen)


def unit_text(
    count: int | Fraction, chosen: Settings, places: int = 3, *, is_cut_off: bool = False
) -> str:
    """Return a weight in counts as decimal text in the legal unit, rounded or cut off."""
    exact = Fraction(count) / Weight.of(1, chosen.legal_unit).count
    if is_cut_off:
        scaled = exact * 10**places
        return f"{Decimal(scaled.numerator // scaled.denominator).scaleb(-places):f}"
    return f"{decimal_of(exact, places, chosen.rounding):f}"


def per_unit(price: UnitPrice, chosen: Settings) -> Decimal:
    """Return a price per legal unit; one per pound has at most six decimals per kg."""
    if price.per is chosen.legal_unit:
        return price.amount
    one = Weight.of(1, chosen.legal_unit).exact(price.per)
    return decimal_of(Fraction(price.amount) * one, 6, chosen.rounding).normalize() + Decimal(0)


def sales_by_day(
    conn: Connection, *, since: date, until: date,
    case_ids: Collection[str] | None = None,
) -> dict[str, tuple[DaySale, ...]]:  # fmt: skip
    """Return what was handed over from `since` up to, and without, `until`, by line and day.

    A booking that went stays gone, so every slip counts; a line left at the counter weighs nothing
    and does not. What came back over the glass since is taken off the day it was sold. `case_ids`
    left out takes all lines.
    """
    start, end = datetime.combine(since, time.min), datetime.combine(until, time.min)
    day = func.date(slips.c.at).label("day")
    query = (
        select(
            booking_lines.c.case_id, day, func.sum(slip_lines.c.weighed).label("weight"),
            func.sum(slip_lines.c.line_total).label("money"),
        )
        .join(slip_lines, slip_lines.c.slip_number == slips.c.number)
        .join(booking_lines, booking_lines.c.id == slip_lines.c.booking_line_id)
        .where(
            slips.c.at >= start, slips.c.at < end,
            slip_lines.c.weighed > 0,
        )
        .group_by(booking_lines.c.case_id, day)
        .order_by(booking_lines.c.case_id, day)
    )  # fmt: skip
    if case_ids is not None:
        query = query.where(booking_lines.c.case_id.in_(case_ids))
    back = returned_sales(conn, start, end)
    found: dict[str, list[DaySale]] = defaultdict(list)
    for row in conn.execute(query):
        # SQLite has no dates of its own, only their text
        on = date.fromisoformat(row.day) if isinstance(row.day, str) else row.day
        weight, money = back.get((row.case_id, on), (0, 0))
        if row.weight > weight:
            found[row.case_id].append(DaySale(on, int(row.weight) - weight, int(row.money) - money))
    return {case_id: tuple(days) for case_id, days in found.items()}


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


def first_day(today: date, weeks: int) -> date:
    """Return the Monday from which `weeks` weeks, this one among them, are looked at.

    Raises
    ------
    BadValue
        If `weeks` is not from 1 to 520.
    """
    if not 1 <= weeks <= _MOST_WEEKS:
        raise BadValue(f"Look at 1 to {_MOST_WEEKS} weeks, not {weeks}.", where="weeks")
    return _monday(today) - timedelta(weeks=weeks - 1)


def weeks_of(days: Iterable[DaySale], chosen: Settings) -> tuple[WeekOfSales, ...]:
    """Return sales week by week, oldest first; a week without a sale has no price and is left out.

    The price is money over weight, per legal unit, to four places.
    """
    sums: dict[date, list[int]] = {}
    for one in days:
        found = sums.setdefault(_monday(one.day), [0, 0])
        found[0] += one.count
        found[1] += one.minor
    scale = 10 ** minor_places(chosen.currency)
    unit = Weight.of(1, chosen.legal_unit).count
    return tuple(
        WeekOfSales(
            monday, Weight(count, chosen.legal_unit), Money(minor, chosen.currency),
            decimal_of(Fraction(minor * unit, count * scale), 4, chosen.rounding),
        )
        for monday, (count, minor) in sorted(sums.items())
    )  # fmt: skip


def open_days(first: date, until: date, chosen: Settings) -> int:
    """Return how many days from `first` up to, and without, `until` customers are served."""
    days = (first + timedelta(days=n) for n in range(max(0, (until - first).days)))
    return sum(1 for day in days if chosen.is_open(day))


def pace_of(line: Line, days: Sequence[DaySale], today: date, chosen: Settings) -> Fraction | None:
    """Return what a line usually sells on an open day, in counts; None if nothing tells.

    The pace that is written down for the line comes first; without one, the mean of its open days
    since its first sale.
    """
    if line.usual is not None:
        return Fraction(line.usual.count)
    before = [one for one in days if one.day < today]
    if not before:
        return None
    opened = max(1, open_days(before[0].day, today, chosen))
    return Fraction(sum(one.count for one in before), opened)


def at_price(
    count: Fraction, elasticity: float, *, seen: Fraction | Decimal, now: Fraction | Decimal
) -> Fraction:
    """Return what sells at the price `now` where `count` sold at the price `seen`.

    By the curve of the kernels, count x (now / seen)^-elasticity; at most 20 times as much or as
    little. Both prices are above zero and in one unit.

    Examples
    --------
    >>> at_price(Fraction(3), 2.0, seen=Fraction(10), now=Fraction(5))
    Fraction(12, 1)
    """
    if seen == now:
        return count
    power = -elasticity * math.log(float(Fraction(now) / Fraction(seen)))
    most = math.log(_MOST_TIMES)
    times = math.exp(min(most, max(-most, power)))
    return count * Fraction(str(round(times, 6)))


def demand_problem(
    line: Line, weeks: Sequence[WeekOfSales], today: date, chosen: Settings
) -> dict[str, Any]:
    """Return the ``collop.demand/1`` problem of a line: whole weeks only, this one is not over."""
    this = _monday(today)
    return {
        "schema": "collop.demand/1",
        "name": line.name,
        "currency": chosen.currency,
        "unit": chosen.legal_unit.value,
        "sales": [
            {
                "price": f"{week.price:f}",
                "quantity": unit_text(week.weight.count, chosen),
                "label": f"{week.monday.isocalendar().year}-W{week.monday.isocalendar().week:02d}",
            }
            for week in weeks
            if week.monday < this
            and week.price > 0
            and unit_text(week.weight.count, chosen) != "0.000"
        ],
        "prior": published_prior(line.species, line.name),
        "enough": ENOUGH,
    }


def demand_of(
    line: Line, days: Sequence[DaySale], price: UnitPrice | None, today: date, chosen: Settings
) -> dict[str, Any]:
    """Return the demand plan of a line.

    Without a whole week of sales its quantity is that of its usual daily pace, at the board price;
    the plan then says so.
    """
    problem = demand_problem(line, weeks_of(days, chosen), today, chosen)
    plan: dict[str, Any] = demand(problem)
    if problem["sales"]:
        return plan
    pace = pace_of(line, days, today, chosen)
    weekly = None if pace is None else pace * len(chosen.open_days)
    return plan | {
        "quantity": None if weekly is None else unit_text(weekly, chosen),
        "price": None if price is None else f"{per_unit(price, chosen):f}",
        "assumptions": [*plan["assumptions"], _NO_SALES],
    }
