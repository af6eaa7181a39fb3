"""What the lock-up hands out: frozen records, no database behind them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from collop.measures import Money, UnitPrice, Weight
from collop.shop.chalk_model import Move
from collop.shop.day_model import DayGap
from collop.shop.model import Booking

__all__ = [
    "CARRIED_OVER",
    "DONE",
    "WORDS",
    "AfterLock",
    "LockLine",
    "LockUp",
    "LockWay",
    "Locked",
    "LockedLine",
]

#: What is written of a line in a lock-up, in the order it is told.
DONE = ("count", "skip", "carry", "convert", "freeze", "bin")
#: What is said of a booking of the day that was not handed over.
CARRIED_OVER = "carried over"
WORDS = ("gone", "off", "short", CARRIED_OVER)


@dataclass(frozen=True, slots=True)
class LockWay:
    """Something that may be done with a line tonight.

    `what` is ``carry``, ``convert``, ``freeze`` or ``bin``; `weight` is what of it, and `money`
    what it brings more than letting it pass its day, None where nobody can tell; `no` says why it
    cannot be done, empty if it can.
    """

    what: str
    weight: Weight
    money: Money | None
    say: str
    no: str = ""


@dataclass(frozen=True, slots=True)
class LockedLine:
    """One entry of a lock-up: a count or what was done, by whom.

    `weight` is below zero on the entry that takes another back. `gap` is counted less expected,
    `at_board` its money at the board, below zero if it lacks. `after` tells that the day was locked
    already.
    """

    seq: int
    case_id: str
    name: str
    what: str
    expected: Weight
    counted: Weight | None
    weight: Weight | None
    at_risk: Money
    into_case: str | None
    lot_id: str | None
    why: str
    at: datetime
    by: str | None
    after: bool = False

    @property
    def gap(self) -> Weight | None:
        """Return counted less expected; None if it was not counted."""
        return None if self.counted is None else self.counted - self.expected


@dataclass(frozen=True, slots=True)
class LockLine:
    """One line of tonight's sheet.

    `expected` is booked and free together, `free` what may be moved, `passes` what of that is past
    its day before the shop opens next; `at_risk` is the money it was chosen by, `say` how that was
    found. `ways` are the best first.
    """

    case_id: str
    name: str
    form: str
    price: UnitPrice
    cost: UnitPrice | None
    expected: Weight
    booked: Weight
    free: Weight
    past: Weight
    passes: Weight
    pieces: tuple[Weight, ...] | None
    use_by: date | None
    days_left: int | None
    at_risk: Money
    say: str
    is_skipped: bool
    entries: tuple[LockedLine, ...]
    ways: tuple[LockWay, ...]

    def last(self, *what: str) -> LockedLine | None:
        """Return the newest entry of one of these kinds."""
        found = [one for one in self.entries if one.what in what]
        return found[-1] if found else None

    @property
    def counted(self) -> LockedLine | None:
        """Return tonight's count, None if it was not counted."""
        return self.last("count")

    @property
    def is_done(self) -> bool:
        """Tell whether it is counted or skipped."""
        return self.last("count", "skip") is not None


@dataclass(frozen=True, slots=True)
class AfterLock:
    """A write of the day that came after its lock-up."""

    what: str
    at: datetime
    by: str | None


@dataclass(frozen=True, slots=True)
class Locked:
    """A day that was locked: when, by whom, and what was written down of it."""

    number: int
    day: date
    at: datetime
    by: str | None
    note: str
    facts: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class LockUp:
    """The sheet of a day.

    `at_risk` is the money of all lines, `covered` that of the lines on the sheet; `next_open` is
    when customers are served next. `moves` are the last mark-downs, told on the last open day
    before a shut one. `open_bookings` are of this day or before and not handed over;
    `told_bookings` are such of which an earlier lock-up has a word, and they still hold; `coming`
    those up to the next open day. `unpaid` are slips of the day with money open, `owed` bookings
    gone or off with money to give back: id, name, and how much.
    """

    day: date
    at: datetime
    next_open: date
    lines: tuple[LockLine, ...]
    others: int
    at_risk: Money
    covered: Money
    notes: tuple[str, ...]
    moves: tuple[Move, ...]
    is_last_day: bool
    open_bookings: tuple[Booking, ...]
    told_bookings: tuple[tuple[Booking, str], ...]
    coming: tuple[Booking, ...]
    gaps: tuple[DayGap, ...]
    unpaid: tuple[tuple[str, str, Money], ...]
    owed: tuple[tuple[str, str, Money], ...]
    locked: Locked | None
    after: tuple[AfterLock, ...]
    problem: Mapping[str, Any]

    @property
    def counted(self) -> int:
        """Return how many lines are counted."""
        return sum(1 for line in self.lines if line.counted is not None)

    def line(self, case_id: str) -> LockLine | None:
        """Return one line of the sheet."""
        return next((line for line in self.lines if line.case_id == case_id), None)
