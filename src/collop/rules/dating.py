"""Last days: ready-to-eat food, mixtures, vacuum packs, and food out of the cold for hours.

References
----------
.. [1] Southern Nevada Health District, How long can I keep TCS food (Food Code 3-501.17): 7 days,
   the day of making is day 1; a mixture takes the oldest date. Source id ``SNHD7``, rows SF015 and
   SF016.
.. [2] North Carolina, Food Code adoption, date marking: freezing stops the clock. Source id
   ``NCDATE``, row SF017.
.. [3] Wisconsin Food Code 3-502.12: 30 days in a vacuum pack, frozen time not counted, never past
   the maker's date. Source id ``WI502_12``, rows SF060 to SF065.
.. [4] Georgia 511-6-1.04(6)(i) and Wyoming ch. 3 s. 62 (Food Code 3-501.19): 4 h and 6 h. Source
   ids ``GATPHC`` and ``WYTPHC``, rows SF019 to SF021.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from collop.errors import BadValue
from collop.measures import Temperature
from collop.reference.rulebook import PublishedRule, rule_row
from collop.rules.choosing import NOTHING_CHOSEN, figure
from collop.rules.editions import edition_of
from collop.rules.limits import Reading, in_order

__all__ = [
    "DateMark",
    "Move",
    "TimeControl",
    "date_mark",
    "mixed_date_mark",
    "rop_last_day",
    "time_control",
]

MOVES = ("frozen", "thawed")
_MOST_MOVES = 1000
_LAST_YEAR = 9000


@dataclass(frozen=True, slots=True)
class Move:
    """Food went into the freezer, or came out of it.

    Parameters
    ----------
    day : date
        The day of it.
    to : str
        ``frozen`` or ``thawed``.
    """

    day: date
    to: str


@dataclass(frozen=True, slots=True)
class DateMark:
    """The last day of food.

    Parameters
    ----------
    last_day : date or None
        Last day on which it may be sold, served or frozen; None while it is frozen.
    days : int
        Days it may be kept in all, the first day counted.
    used : int
        Of these, those that are over; None of them counts while it is frozen.
    row : PublishedRule
        The published row.
    """

    last_day: date | None
    days: int
    used: int
    row: PublishedRule

    @property
    def left(self) -> int:
        """Return the days that are left of frozen food once it is thawed."""
        return self.days - self.used

    def is_past(self, today: date) -> bool:
        """Tell whether the last day is over."""
        return self.last_day is not None and today > self.last_day


def _checked(moves: Sequence[Move], began: date) -> None:
    if len(moves) > _MOST_MOVES:
        raise BadValue(f"{len(moves)} moves in and out of the freezer are too many.")
    if began.year > _LAST_YEAR:
        raise BadValue(f"The year {began.year} is out of range; check the day.")
    before = began
    for number, move in enumerate(moves):
        wanted = MOVES[number % 2]
        if move.to != wanted:
            raise BadValue(f"On {move.day} it was {wanted} already or is {move.to[:20]!r}; give "
                           "frozen and thawed in turn.")  # fmt: skip
        if move.day < before:
            raise BadValue(f"{move.day} is before {before}; give the moves in order of days.")
        before = move.day
    if before.year > _LAST_YEAR:
        raise BadValue(f"The year {before.year} is out of range; check the day.")


def _clock(began: date, moves: Sequence[Move], days: int, first: int) -> tuple[date | None, int]:
    """Return the last day, None while frozen, and the days used up before it.

    `first` is 1 if the day it began is one of the days, 0 if they are counted from it.
    """
    _checked(moves, began)
    used, cold_since = 0, began
    for move in moves:
        if move.to == "thawed":
            cold_since = move.day
            continue
        if move.day > cold_since + timedelta(days=days - used - first):
            raise BadValue(f"It was past its last day when it was frozen on {move.day}.")
        # the day it is frozen is not counted, but each time in the cold counts for a day at least
        used += max(1, (move.day - cold_since).days)
    if len(moves) % 2:
        return None, used
    last = cold_since + timedelta(days=days - used - first)
    if last < cold_since:
        raise BadValue(f"Its {days} days were used up before it was thawed on {cold_since}.")
    return last, used


def date_mark(
    made_on: date, moves: Sequence[Move] = (), chosen: Mapping[str, str] = NOTHING_CHOSEN
) -> DateMark:
    """Return the last day of ready-to-eat food held cold.

    Parameters
    ----------
    made_on : date
        Made, or its pack opened: day 1.
    moves : sequence of Move
        Frozen and thawed in turn, by day. The day of freezing does not count, the day of thawing
        does; a time in the cold counts for a day at least, so that no freezing gives a day away.
    chosen : mapping of str to str
        The shop's choices.

    Raises
    ------
    BadValue
        If the moves are not in order, or its days were used up.

    Examples
    --------
    >>> str(date_mark(date(2026, 4, 1)).last_day)
    '2026-04-07'
    >>> moves = [Move(date(2026, 10, 3), "frozen"), Move(date(2026, 10, 10), "thawed")]
    >>> str(date_mark(date(2026, 10, 1), moves).last_day)
    '2026-10-14'
    """
    days = int(figure("date_mark_days", chosen))
    last, used = _clock(made_on, moves, days, 1)
    return DateMark(last, days, used, rule_row("SF017" if moves else "SF015"))


def mixed_date_mark(marks: Sequence[DateMark]) -> DateMark:
    """Return the last day of a mixture: that of its oldest part.

    Parameters
    ----------
    marks : sequence of DateMark
        Of each part that was ready to eat.

    Raises
    ------
    BadValue
        If there is no part, or one is frozen.

    Examples
    --------
    >>> parts = [date_mark(date(2026, 6, 1)), date_mark(date(2026, 6, 3))]
    >>> str(mixed_date_mark(parts).last_day)
    '2026-06-07'
    """
    if not marks:
        raise BadValue("A mixture needs at least one part with a date.")
    dated = [one for one in marks if one.last_day is not None]
    if len(dated) < len(marks):
        raise BadValue("A part of the mixture is frozen; thaw it first, then its date is known.")
    oldest = min(dated, key=lambda one: one.last_day or date.max)
    return DateMark(oldest.last_day, oldest.days, oldest.used, rule_row("SF016"))


def rop_last_day(
    packed_on: date,
    moves: Sequence[Move] = (),
    chosen: Mapping[str, str] = NOTHING_CHOSEN,
    *,
    makers_date: date | None = None,
) -> DateMark:
    """Return the last day of raw meat in a vacuum pack held at 41 degF or below.

    Parameters
    ----------
    packed_on : date
        The days are counted from it: 30 days from 1 June end on 1 July.
    moves : sequence of Move
        Frozen and thawed in turn; frozen time does not count.
    chosen : mapping of str to str
        The shop's choices; the edition sets 30 or 14 days, ``pack_days`` may be fewer.
    makers_date : date, optional
        Date that the maker put on the meat; the last day is never past it.

    Raises
    ------
    BadValue
        If the moves are not in order, its days were used up, or it was frozen after the maker's
        date.

    Examples
    --------
    >>> str(rop_last_day(date(2026, 6, 1)).last_day)
    '2026-07-01'
    >>> str(rop_last_day(date(2026, 6, 1), chosen={"food_code": "2009"}).last_day)
    '2026-06-15'
    """
    days = int(figure("pack_days", chosen))
    last, used = _clock(packed_on, moves, days, 0)
    late = [
        one.day for one in moves if makers_date and one.to == "frozen" and one.day > makers_date
    ]
    if late:
        raise BadValue(f"It was past the maker's date, {makers_date}, when it was frozen on "
                       f"{late[0]}.")  # fmt: skip
    if last is not None and makers_date is not None:
        last = min(last, makers_date)
    return DateMark(last, days, used, edition_of(chosen).pack_row)


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeControl:
    """Food kept by time alone, out of cold or heat.

    Parameters
    ----------
    out_at, discard_at : datetime
        The two times of the mark: out, and to be cooked, sold or thrown away by.
    is_ok : bool
        False if it grew too warm: it is thrown away now.
    say : str
        One sentence.
    row : PublishedRule
        The published row.
    """

    out_at: datetime
    discard_at: datetime
    is_ok: bool
    say: str
    row: PublishedRule


def _f(temperature: Temperature) -> str:
    return f"{temperature.in_fahrenheit(1).normalize():f} °F"


def _bounds(rule_id: str) -> list[Temperature]:
    """Return the temperatures that stand in the value of a row, in its order."""
    return [Temperature.fahrenheit(one) for one in re.findall(r"\d+", rule_row(rule_id).value)]


def time_control(
    plan: str,
    out_at: datetime,
    start: Temperature,
    readings: Sequence[Reading] = (),
    chosen: Mapping[str, str] = NOTHING_CHOSEN,
) -> TimeControl:
    """Return by when food out of the cold is cooked, sold or thrown away.

    Parameters
    ----------
    plan : str
        ``4h`` or ``6h``; either needs a written procedure beforehand (row SF022).
    out_at : datetime
        When it came out.
    start : Temperature
        What it was then: 41 degF or below, in the 4 h plan also 135 degF or above.
    readings : sequence of Reading
        Later ones; in the 6 h plan none may be over 70 degF.
    chosen : mapping of str to str
        The shop's choices.

    Raises
    ------
    BadValue
        If there is no such plan, or the food was not cold or hot when it came out.

    Examples
    --------
    >>> found = time_control("4h", datetime(2026, 6, 9, 10), Temperature.fahrenheit(40))
    >>> found.discard_at.hour, found.is_ok
    (14, True)
    """
    if plan not in ("4h", "6h"):
        raise BadValue(f"There is no plan {plan[:20]!r} of time alone; use 4h or 6h.")
    row = rule_row("SF019" if plan == "4h" else "SF020")
    cold, other = _bounds(row.rule_id)
    may_be_hot = plan == "4h" and start >= other
    if start > cold and not may_be_hot:
        hot = f" or {_f(other)} or above" if plan == "4h" else ""
        raise BadValue(
            f"It was {_f(start)} when it came out; the plan needs {_f(cold)} or below{hot}. "
            "Time alone cannot begin there."
        )
    hours = figure(f"out_{plan}", chosen)
    by = out_at + timedelta(seconds=int(hours * 3600))
    say = f"Cook, sell or throw away by {by:%H:%M}."
    warm = [one for one in in_order(readings) if plan == "6h" and one.temperature > other]
    if warm:
        say = (f"It was {_f(warm[0].temperature)} at {warm[0].at:%H:%M}, over {_f(other)}: "
               "throw it away now.")  # fmt: skip
    return TimeControl(out_at=out_at, discard_at=by, is_ok=not warm, say=say, row=row)
