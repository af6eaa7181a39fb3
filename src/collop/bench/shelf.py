"""Stock of one cut or bin in the program: what is on hand at night, and what is past its day."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from collop.bench.problem import Cut, Lot
from collop.bench.program import Program

__all__ = ["Shelf", "brings", "by_last_day", "only_past", "stock_rows"]


@dataclass(slots=True)
class Shelf:
    """Columns and rows of one cut or bin, each of shape (days,) where it is a list.

    Parameters
    ----------
    balance : list of int
        Rows; more on the right is more in stock on that day.
    expiry : dict of int
        Rows by day, where anything can be past its day.
    on_hand : list of int
        Columns, at night.
    spoilt, ground, sold_as_is : dict of int
        Columns by day, where there is such a thing.
    sold : dict of (int, int)
        Columns by day and step.
    ladder : dict of int
        Rows by day.
    left : int
        Column of what is worth something at the end; -1 if nothing.
    older : list of int
        Columns at night of opening lots that outlast what comes in later; empty if none does.
    past_older : dict of int
        Columns by day of what of those is spoilt.
    brought : set of int
        Columns that bring weight in.
    """

    balance: list[int] = field(default_factory=list)
    expiry: dict[int, int] = field(default_factory=dict)
    on_hand: list[int] = field(default_factory=list)
    spoilt: dict[int, int] = field(default_factory=dict)
    ground: dict[int, int] = field(default_factory=dict)
    sold_as_is: dict[int, int] = field(default_factory=dict)
    sold: dict[tuple[int, int], int] = field(default_factory=dict)
    ladder: dict[int, int] = field(default_factory=dict)
    left: int = -1
    older: list[int] = field(default_factory=list)
    past_older: dict[int, int] = field(default_factory=dict)
    brought: set[int] = field(default_factory=set)


def by_last_day(lots: Iterable[Lot]) -> dict[int, float]:
    """Return weight by the last day it may be used."""
    found: dict[int, float] = defaultdict(float)
    for lot in lots:
        found[lot.days_left] += float(lot.weight)
    return dict(found)


def stock_rows(
    program: Program, shelf: Shelf, stock: Mapping[int, float], *, days: int, keeps: int,
    may_come: Iterable[int],
) -> None:  # fmt: skip
    """Add on hand and its balance; `stock` is weight on day 0 by its last day.

    `may_come` lists the days on which more can come in.
    """
    comes = list(may_come)
    first = min(comes, default=days) + keeps
    older = {end: weight for end, weight in stock.items() if end > first}
    younger = {end: weight for end, weight in stock.items() if end <= first}
    arriving = {day + keeps for day in comes}
    _chain(program, days, (shelf.on_hand, shelf.balance), younger)
    for day, column in enumerate(shelf.on_hand):
        ends = arriving | set(younger)
        if day in ends:
            spoilt = shelf.spoilt[day] = program.column(0.0)
            program.rows[shelf.balance[day]][spoilt] = 1.0
        if any(end <= day for end in ends):
            good = sum(weight for end, weight in younger.items() if end > day)
            shelf.expiry[day] = program.row({column: 1.0}, high=good)
    if older:
        _older(program, days, shelf, older)


def _chain(
    program: Program, days: int, into: tuple[list[int], list[int]], stock: Mapping[int, float]
) -> None:
    """Add a column for each night and the row that ties it to the night before."""
    nights, rows = into
    for day in range(days):
        column = program.column(0.0)
        terms = {column: 1.0}
        if day:
            terms[nights[-1]] = -1.0
        nights.append(column)
        right = sum(stock.values()) if day == 0 else 0.0
        rows.append(program.row(terms, low=right, high=right))


def _older(program: Program, days: int, shelf: Shelf, older: Mapping[int, float]) -> None:
    """Add opening lots that outlast what comes in; they come to the rest on the day of use."""
    rows: list[int] = []
    _chain(program, days, (shelf.older, rows), older)
    for day, column in enumerate(shelf.older):
        used = program.column(0.0)
        program.rows[rows[day]][used] = 1.0
        program.rows[shelf.balance[day]][used] = -1.0
        if any(end == day for end in older):
            spoilt = program.column(0.0)
            program.rows[rows[day]][spoilt] = 1.0
            shelf.past_older[day] = spoilt
        if any(end <= day for end in older):
            good = sum(weight for end, weight in older.items() if end > day)
            program.row({column: 1.0}, high=good)


def brings(
    program: Program, shelf: Shelf, terms: Mapping[int, float], *, keeps: int, day: int
) -> None:
    """Let columns bring so much into stock on a day; it may be used up to day + keeps."""
    rows = program.rows
    shelf.brought.update(terms)
    for column, weight in terms.items():
        balance = rows[shelf.balance[day]]
        balance[column] = balance.get(column, 0.0) - weight
        for night, row in shelf.expiry.items():
            if day <= night < day + keeps:
                rows[row][column] = rows[row].get(column, 0.0) - weight


def only_past(program: Program, cut: Cut, shelf: Shelf) -> None:
    """Let no more be spoilt by a day than has come to its last day by then."""
    rows = program.rows
    for day in shelf.spoilt:
        terms = {column: 1.0 for at, column in shelf.spoilt.items() if at <= day}
        for at in range(day - cut.keeps_days + 1):
            for column, value in rows[shelf.balance[at]].items():
                if column in shelf.brought:
                    terms[column] = terms.get(column, 0.0) + value
        ending = sum(float(lot.weight) for lot in cut.stock if lot.days_left <= day)
        program.row(terms, high=ending)
