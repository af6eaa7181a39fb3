"""What a replay works with: days that are over, what was done and sold, what else might be.

Weights are exact in the problem's unit, money exact in its currency, days count from 0.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from collop.measures import Rounding

__all__ = [
    "Break", "Change", "Cut", "CutDay", "Day", "Lot", "Part", "Piece", "ReplayProblem", "Style",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Day:
    """One day, and whether customers were served."""

    date: date
    is_open: bool


@dataclass(frozen=True, slots=True)
class Lot:
    """Weight there in the morning of day 0 that is good on days 0 to `days_left`."""

    weight: Fraction
    days_left: int


@dataclass(frozen=True, slots=True)
class CutDay:
    """What happened to one cut on one day.

    Parameters
    ----------
    sold, money : Fraction
        At the glass.
    booked, booked_money, booked_short : Fraction
        What went to bookings, and what was promised and not there.
    binned : Fraction
    other_in, other_out : Fraction
        What came and went beside: put back, found, made, ground, frozen, missing.
    sold_out : Fraction, optional
        Share of the opening hours by which none was left; None if some was.
    """

    sold: Fraction
    money: Fraction
    booked: Fraction
    booked_money: Fraction
    booked_short: Fraction
    binned: Fraction
    other_in: Fraction
    other_out: Fraction
    sold_out: Fraction | None


@dataclass(frozen=True, slots=True)
class Cut:
    """A line of the case: `usual` is what sells on an open day, None if nobody knows."""

    id: str
    name: str
    price: Fraction
    keeps_days: int
    left_worth: Fraction
    usual: Fraction | None
    stock: tuple[Lot, ...]
    days: tuple[CutDay, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """What comes off: a cut, or (with an empty `cut`) something worth so much a unit at once.

    `amount` is a weight of what was done, a share of a style.
    """

    cut: str
    name: str
    worth: Fraction
    amount: Fraction


@dataclass(frozen=True, slots=True)
class Style:
    """A way to cut a piece; what its shares leave of 1 is loss."""

    id: str
    name: str
    minutes: Fraction
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Break:
    """A piece that is cut: in which style, on which day, what comes off as weights."""

    style: str
    name: str
    day: int
    minutes: Fraction
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True)
class Piece:
    """What hung: its weight on each day (None where it was not there), and what was done."""

    tag: str
    name: str
    weights: tuple[Fraction | None, ...]
    worth_left: Fraction
    styles: tuple[Style, ...]
    actual: Break | None


@dataclass(frozen=True, slots=True)
class Change:
    """Another decision: a style on a day, or neither for a piece that hangs on."""

    tag: str
    style: str | None
    day: int | None


@dataclass(frozen=True, slots=True)
class ReplayProblem:
    """Days that are over, and what else might have been cut."""

    name: str
    currency: str
    rounding: Rounding
    unit: str
    days: tuple[Day, ...]
    per_hour: Fraction
    cuts: dict[str, Cut]
    pieces: dict[str, Piece]
    changes: tuple[Change, ...]
