"""Labour: the work of each day fits the hands that may do it."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from fractions import Fraction
from itertools import pairwise
from typing import Any

from collop.bench.checker_parts import amount, by_key, number, total
from collop.bench.checker_trim import make_of
from collop.bench.problem import BenchProblem

__all__ = ["hand_rules", "most_done"]

# minutes are told to a tenth or finer
_TOLD = Fraction(1, 10)


def hand_rules(problem: BenchProblem, plan: Mapping[str, Any]) -> Iterator[str]:
    """Yield each day whose work does not fit, and each hand that is told wrongly."""
    told = by_key(plan["hands"], "name")
    for hand in problem.hands:
        row = told[hand.name]
        for day in range(len(problem.days)):
            used, over, idle = (number(row[key][day]) for key in ("used", "overtime", "idle"))
            if not 0 <= used <= hand.minutes[day] or not 0 <= over <= hand.overtime[day]:
                yield f"{hand.name} works more on day {day} than there is time"
            if abs(used + idle - hand.minutes[day]) > _TOLD:
                yield f"{hand.name} is told idle wrongly on day {day}"
    for day in range(len(problem.days)):
        yield from _day_rules(problem, plan, told, day)


def _day_rules(
    problem: BenchProblem, plan: Mapping[str, Any], told: Mapping[str, Any], day: int
) -> Iterator[str]:
    work = _work(problem, plan, day)
    does = {name: number(row["used"][day]) + number(row["overtime"][day])
            for name, row in told.items()}  # fmt: skip
    need, there = total(work.values()), total(does.values())
    slack = _TOLD * (len(does) + 1)
    if abs(need - there) > slack:
        yield f"the work of day {day} takes {float(need):.1f} minutes; {float(there):.1f} are told"
    if need - most_done(work, does) > slack:
        yield f"the work of day {day} does not fit those who may do it"


def _work(
    problem: BenchProblem, plan: Mapping[str, Any], day: int
) -> dict[frozenset[str], Fraction]:
    """Return minutes of a day by who may do them."""
    everybody = frozenset(hand.name for hand in problem.hands)
    found: dict[frozenset[str], Fraction] = defaultdict(Fraction)
    for row in plan["breaks"]:
        if row["day"] == day:
            able = {hand.name for hand in problem.hands if row["style"] not in hand.cannot}
            found[frozenset(able)] += number(row["minutes"])
    for row in plan["makes"]:
        make = make_of(problem, row)
        if row["day"] == day and make is not None:
            found[everybody] += amount(row["weight"]) * make.minutes_per_unit
    for row in plan["grinds"]:
        cut = problem.cuts.get(row["cut"])
        if row["day"] == day and cut is not None and cut.ground is not None:
            found[everybody] += amount(row["weight"]) * cut.ground.minutes_per_unit
    return found


def most_done(work: Mapping[frozenset[str], Fraction], does: Mapping[str, Fraction]) -> Fraction:
    """Return the most minutes of work that hands can do: a flow from kinds of work to hands.

    Parameters
    ----------
    work : mapping of frozenset of str to Fraction
        Minutes by the names of those that may do them.
    does : mapping of str to Fraction
        Minutes that each hand works.
    """
    jobs = list(work)
    undone, free = dict(work), dict(does)
    given: dict[tuple[frozenset[str], str], Fraction] = defaultdict(Fraction)
    done = Fraction(0)
    while True:
        path = _path(jobs, undone, free, given)
        if path is None:
            return done
        # a job gives to a hand; a hand gives back the part of another job on the way
        backs = [given[job, before] for (_, before), (job, _) in pairwise(path)]
        step = min(undone[path[0][0]], free[path[-1][1]], *backs)
        for job, hand in path:
            given[job, hand] += step
        for (_, before), (job, _) in pairwise(path):
            given[job, before] -= step
        undone[path[0][0]] -= step
        free[path[-1][1]] -= step
        done += step


def _path(jobs: list[frozenset[str]], undone: Mapping[frozenset[str], Fraction],
          free: Mapping[str, Fraction], given: Mapping[tuple[frozenset[str], str], Fraction],
          ) -> list[tuple[frozenset[str], str]] | None:  # fmt: skip
    """Return the shortest way from undone work to a free hand as (job, hand) steps."""
    heads: list[list[tuple[frozenset[str], str]]] = []
    seen: set[str] = set()

    def reach(job: frozenset[str], so_far: list[tuple[frozenset[str], str]]) -> None:
        for hand in sorted(job - seen):
            seen.add(hand)
            heads.append([*so_far, (job, hand)])

    for job in jobs:
        if undone[job] > 0:
            reach(job, [])
    for path in heads:
        hand = path[-1][1]
        if free[hand] > 0:
            return path
        for job in jobs:
            if given.get((job, hand), Fraction(0)) > 0:
                reach(job, path)
    return None
