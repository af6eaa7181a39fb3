"""All that should stand in the Day Book and does not: told, never filled."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from sqlalchemy.engine import Connection

from collop.errors import BadValue
from collop.shop.day_clean import clean_gaps
from collop.shop.day_cold import ColdBook
from collop.shop.day_cooling import cooling_gaps
from collop.shop.day_mince import mince_gaps
from collop.shop.day_model import DayGap
from collop.shop.making_model import Making

__all__ = ["FIRST_DAY", "all_gaps", "checked_day"]

#: No book of a shop is older.
FIRST_DAY = date(1970, 1, 1)


def checked_day(day: date) -> date:
    """Return a day of the book, or raise `BadValue` if no book is so old."""
    if day < FIRST_DAY:
        raise BadValue(f"Day: the book holds no day before {FIRST_DAY.isoformat()}.", where="day")
    return day


def all_gaps(
    conn: Connection, cold: ColdBook, span: tuple[date, date], mince: Sequence[Making]
) -> tuple[DayGap, ...]:
    """Return the gaps of the days of `span`, by tile and time.

    Parameters
    ----------
    conn : Connection
        Reading connection.
    cold : ColdBook
        Cold checks of these days.
    span : (date, date)
        Both included.
    mince : sequence of Making
        The mince lots whose record is not closed, at least.
    """
    return (
        *cold.gaps(*span), *clean_gaps(conn, cold.settings, span, cold.now),
        *cooling_gaps(conn, span, cold.now), *mince_gaps(mince, span, cold.now),
    )  # fmt: skip
