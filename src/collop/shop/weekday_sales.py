"""What sells on which day of the week, from the slips."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction

from sqlalchemy.engine import Connection

from collop.measures import Weight, round_fraction
from collop.shop.model import Settings
from collop.shop.sales import WEEKS, first_day, sales_by_day

__all__ = ["WeekdaySales", "weekday_sales"]

_DAYS = 7


@dataclass(frozen=True, slots=True)
class WeekdaySales:
    """What one day of the week sold.

    Parameters
    ----------
    weekday : int
        0 is Monday.
    days : int
        Such days that were open, from the first sale to yesterday.
    total : Weight
        What was handed over on them and did not come back; on a day that was shut too.
    mean : Weight or None
        `total` over `days`; None where there was none.
    """

    weekday: int
    days: int
    total: Weight
    mean: Weight | None


def weekday_sales(
    conn: Connection, today: date, chosen: Settings, case_id: str | None = None, weeks: int = WEEKS
) -> tuple[WeekdaySales, ...]:
    """Return what sold on each day of the week, Monday first; nothing before the first sale.

    Today is not over and does not count.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    today : date
        The day that is not over.
    chosen : Settings
        Which days are open, the unit, and the rounding.
    case_id : str, optional
        One line; left out, all of them together.
    weeks : int
        How many weeks are looked at, this one among them.

    Raises
    ------
    BadValue
        If `weeks` is not from 1 to 520.
    """
    found = sales_by_day(
        conn, since=first_day(today, weeks), until=today,
        case_ids=None if case_id is None else [case_id],
    )  # fmt: skip
    sales = [one for days in found.values() for one in days]
    if not sales:
        return ()
    counts, opened = [0] * _DAYS, [0] * _DAYS
    for one in sales:
        counts[one.day.weekday()] += one.count
    day = min(one.day for one in sales)
    while day < today:
        opened[day.weekday()] += chosen.is_open(day)
        day += timedelta(days=1)
    return tuple(
        WeekdaySales(weekday, opened[weekday], Weight(counts[weekday], chosen.legal_unit),
                     _mean(counts[weekday], opened[weekday], chosen))
        for weekday in range(_DAYS)
    )  # fmt: skip


def _mean(count: int, days: int, chosen: Settings) -> Weight | None:
    if not days:
        return None
    return Weight(round_fraction(Fraction(count, days), chosen.rounding), chosen.legal_unit)
