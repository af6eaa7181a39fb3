"""What a line sells on an open day: the pace written down, corrected by the days seen.

With the usual pace u taken to be worth n0 days and days of sales x_t,

    pace = (n0 u + sum x_t) / (n0 + number of days).

A day on which the case ran empty tells only that at least so much would have sold: it counts as
the higher of what was sold and the pace itself.

References
----------
.. [1] A mean with a prior worth so many days: standard, quoted from memory. How a day that sold
   out counts is a rule of ours; it is never under what was sold.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from collop.measures import Rounding, decimal_of
from collop.wire import Reader

__all__ = ["PLAN_ID", "SCHEMA_ID", "WORTH_DAYS", "DayOfSales", "pace", "pace_seen"]

SCHEMA_ID = "collop.pace/1"
PLAN_ID = "collop.pace.plan/1"
#: How many days of sales the written pace is worth: a figure of ours, no published source.
WORTH_DAYS = 12
MOST_DAYS = 5000
_PLACES = 3
_KEYS = ("schema", "name", "unit", "usual", "worth_days", "days")


@dataclass(frozen=True, slots=True)
class DayOfSales:
    """What was sold on one open day, and whether the case ran empty."""

    sold: Fraction
    sold_out: bool = False


def pace_seen(
    usual: Fraction | None, days: Sequence[DayOfSales], worth_days: int = WORTH_DAYS
) -> Fraction | None:
    """Return the pace a day; None if nothing is written down and no day was seen.

    Parameters
    ----------
    usual : Fraction or None
        Pace written down, in any unit of weight.
    days : sequence of DayOfSales
        Open days, in the same unit; a day without a sale counts as one of nothing.
    worth_days : int
        What the written pace is worth.

    Examples
    --------
    >>> pace_seen(Fraction(12), [DayOfSales(Fraction(6))] * 12)
    Fraction(9, 1)
    >>> pace_seen(Fraction(12), [DayOfSales(Fraction(6), sold_out=True)] * 12)
    Fraction(12, 1)
    """
    worth = 0 if usual is None else worth_days
    if not days:
        return usual
    known = worth * (usual or Fraction(0))
    known += sum((day.sold for day in days if not day.sold_out), Fraction(0))
    count = worth + sum(1 for day in days if not day.sold_out)
    floors = sorted((day.sold for day in days if day.sold_out), reverse=True)
    # the days that sold more than the pace count with what they sold, the others with the pace
    for floor in floors:
        if count and known >= floor * count:
            break
        known, count = known + floor, count + 1
    return known / count


def pace(problem: object) -> dict[str, Any]:
    """Return what a line sells a day, from its written pace and the days seen.

    Parameters
    ----------
    problem : object
        The ``collop.pace/1`` object; see `docs/learning.md`.

    Raises
    ------
    ProblemError
        If it cannot be read, or neither a usual pace nor a day is given.
    """
    top = Reader(problem, "$", _KEYS)
    top.choice("schema", [SCHEMA_ID])
    unit = top.choice("unit", ["lb", "kg"], "lb")
    usual = Fraction(top.decimal("usual")) if top.has("usual") else None
    worth = top.whole("worth_days", 1, 1000, WORTH_DAYS)
    if len(top.items("days", [])) > MOST_DAYS:
        raise top.fail("days", f"has more than {MOST_DAYS} days; leave the oldest out.")
    days = tuple(_days(top))
    found = pace_seen(usual, days, worth)
    if found is None:
        raise top.fail("usual", "is missing and no day is given; write one of the two.")
    seen = [day.sold for day in days]
    return {
        "schema": PLAN_ID,
        "name": top.text("name", None),
        "unit": unit,
        "pace": _text(found),
        "usual": None if usual is None else _text(usual),
        "days": len(days),
        "sold_out_days": sum(1 for day in days if day.sold_out),
        "mean_sold": _text(sum(seen, Fraction(0)) / len(seen)) if seen else None,
        "worth_days": worth if usual is not None else 0,
        "say": _say(found, usual, days, unit),
    }


def _text(value: Fraction) -> str:
    return f"{decimal_of(value, _PLACES, Rounding.HALF_UP):f}"


def _say(found: Fraction, usual: Fraction | None, days: Sequence[DayOfSales], unit: str) -> str:
    if not days:
        return f"{_text(found)} {unit} a day, as written down; no day of sales yet."
    out = sum(1 for day in days if day.sold_out)
    many = "1 day" if len(days) == 1 else f"{len(days)} days"
    empty = f", {out} of them sold out" if out else ""
    before = "" if usual is None else f"; {_text(usual)} is written down"
    return f"{_text(found)} {unit} a day from {many} of sales{empty}{before}."


def _days(top: Reader) -> Iterator[DayOfSales]:
    for path, value in top.each("days", []):
        row = Reader(value, path, ("day", "sold", "sold_out"))
        row.text("day", None)
        yield DayOfSales(Fraction(row.decimal("sold")), row.flag("sold_out", default=False))
