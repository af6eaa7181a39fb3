"""Minutes of work in the program: who may do what, and what an hour costs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from collop.bench.problem import BenchProblem
from collop.bench.program import Program
from collop.bench.ways import Way

__all__ = ["Work", "add_work", "everyone", "hands_for"]

_HOUR = 60.0


@dataclass(slots=True)
class Work:
    """Where minutes stand in the program.

    Parameters
    ----------
    rows : dict of (int, frozenset)
        Rows of minutes: by day, of those hands that may do the work.
    regular, overtime : dict of (int, int)
        Columns of minutes used, by hand and day.
    """

    rows: dict[tuple[int, frozenset[str]], int] = field(default_factory=dict)
    regular: dict[tuple[int, int], int] = field(default_factory=dict)
    overtime: dict[tuple[int, int], int] = field(default_factory=dict)


def everyone(problem: BenchProblem) -> frozenset[str]:
    """Return the names of all hands: each may grind and make."""
    return frozenset(hand.name for hand in problem.hands)


def hands_for(problem: BenchProblem, style: str) -> frozenset[str]:
    """Return the names of those who cut a style."""
    return frozenset(hand.name for hand in problem.hands if style not in hand.cannot)


def add_work(program: Program, problem: BenchProblem, ways: Iterable[Way]) -> Work:
    """Add minutes used, and one row a day for each group of hands that may do some work."""
    work, listed = Work(), tuple(ways)
    groups = {everyone(problem), *(hands_for(problem, way.style.id) for way in listed)}
    ordered = sorted(groups, key=sorted)
    for day in range(len(problem.days)):
        _add_day(program, problem, work, ordered, day)
    for way in listed:
        if way.style.minutes:
            row = work.rows[way.day, hands_for(problem, way.style.id)]
            program.rows[row][way.index] = float(way.style.minutes)
    return work


def _add_day(
    program: Program, problem: BenchProblem, work: Work, groups: list[frozenset[str]], day: int
) -> None:
    rows = [program.row({}, high=0.0) for _ in groups]
    work.rows.update({(day, group): row for group, row in zip(groups, rows, strict=True)})
    for at, hand in enumerate(problem.hands):
        regular = program.column(-float(hand.per_hour) / _HOUR, most=float(hand.minutes[day]))
        dear = -float(hand.overtime_per_hour) / _HOUR
        extra = program.column(dear, most=float(hand.overtime[day]))
        work.regular[at, day], work.overtime[at, day] = regular, extra
        minutes = {regular: -1.0, extra: -1.0}
        if len(groups) == 1:
            program.rows[rows[0]].update(minutes)
            continue
        capacity = program.row(minutes, high=0.0)
        for group, row in zip(groups, rows, strict=True):
            if hand.name in group:
                share = program.column(0.0)
                program.rows[row][share] = -1.0
                program.rows[capacity][share] = 1.0
