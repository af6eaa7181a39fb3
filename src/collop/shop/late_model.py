"""What was written on paper and is keyed in later: a record for each row, and what came of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, time

from collop.measures import Money, Temperature, Weight
from collop.shop.day_model import Told
from collop.shop.selling_model import NewSale

__all__ = [
    "KeyedBack", "KeyedRow", "LateAct", "LateBench", "LateCold", "LateHandOver", "LateOrder",
    "LateRow", "LateSale",
]  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class LateSale:
    """A slip of the sheet of sales: `row` is that of its first line.

    `paid` is cash, card, other or account, or empty; "account" needs a `name`.
    """

    row: int
    at: time
    lines: tuple[NewSale, ...]
    paid: str = ""
    name: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LateHandOver:
    """A booking that was handed over: net weights by line id, and how the rest was paid."""

    row: int
    at: time
    booking_id: str
    weighed: Mapping[str, Weight]
    paid: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LateCold:
    """What a place was read at; `told` is asked for over its limit."""

    row: int
    at: time
    place_id: str
    reading: Temperature
    told: Told = field(default_factory=Told)


@dataclass(frozen=True, slots=True, kw_only=True)
class LateBench:
    """A line of the bench list that was finished, by the number called out for it.

    `line` is its id, where that is known: numbers move up when a line leaves the list.
    """

    row: int
    at: time
    number: int
    weight: Weight
    line: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class LateOrder:
    """An order taken on the pad; its prices are those of the board when it was taken."""

    row: int
    at: time
    name: str
    collect_at: datetime
    lines: tuple[tuple[str, Weight], ...]
    phone_end: str = ""
    heads: int | None = None
    dont_eats: str = ""
    note: str = ""
    deposit: Money | None = None


LateRow = LateSale | LateHandOver | LateCold | LateBench | LateOrder


@dataclass(frozen=True, slots=True, kw_only=True)
class LateAct:
    """An act that was done on paper before it was written.

    Parameters
    ----------
    done_at, at : datetime
        When it was done as told, and when it was written.
    sheet : str
        Sheet and row, e.g. ``P-0610-S3 row 4``.
    by : str or None
        Who wrote it.
    kind, answer : str
        What it was, and its id, e.g. ``H40``.
    """

    done_at: datetime
    at: datetime
    sheet: str
    by: str | None
    kind: str
    answer: str


@dataclass(frozen=True, slots=True)
class KeyedRow:
    """A row that is written: its id, and whether it was there before."""

    row: int
    answer: str
    was_before: bool


@dataclass(frozen=True, slots=True)
class KeyedBack:
    """What became of a sheet."""

    sheet: str
    rows: tuple[KeyedRow, ...]

    @property
    def new(self) -> int:
        """Return how many rows were not there before."""
        return sum(not row.was_before for row in self.rows)

    @property
    def say(self) -> str:
        """Return it in one sentence."""
        return self.said(self.sheet, self.new, len(self.rows) - self.new)

    @staticmethod
    def said(sheet: str, new: int, before: int) -> str:
        """Return in one sentence how many rows of a sheet were written, and were there before."""
        told = f"{new} {'row' if new == 1 else 'rows'} of {sheet} written"
        return f"{told}, {before} there before." if before else f"{told}."
