"""What one shop has too much of and another too little: which weights are worth a van.

A linear program over the plans of single shops.  Of each cut a shop can spare what spoils, is left,
is ground or marked down, and what it sells for less than another shop would; another can use what
it would still sell at its board price, and what a booking lacks:

    max  sum (worth there - parting here - van) x weight
    s.t. weight out of each lot and use <= what the plan has of it
         weight into each day's wish     <= what the plan lacks of it
         weight in the van of a day      <= what it takes

Worths hold for a pound more or less, so this only proposes; `collop.bench.many` plans the shops
anew and counts the money of those plans.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from collop.bench.problem import BenchProblem, Cut
from collop.bench.program import Hot, Program

__all__ = ["LEAST", "Link", "Load", "Use", "fits", "proposed"]

Plan = Mapping[str, Any]

#: Less than this is not worth a wrapping, in the problem's unit.
LEAST = Fraction(1, 10)
_STEP = Fraction(1, 100)
#: What is short comes before money.
_FIRST = 1000
_CENT = 0.01


@dataclass(frozen=True, slots=True)
class Link:
    """A van from one shop to another.

    Parameters
    ----------
    source, target : int
        Places of the two shops.
    cost : Fraction
        Money per unit of weight.
    most : Fraction, optional
        Weight it takes on one day.
    days : int
        What leaves on day d, after the shop shuts, may be sold there from day d + days.
    cuts : frozenset of str, optional
        Ids of what it takes; None is all that both shops have.
    """

    source: int
    target: int
    cost: Fraction
    most: Fraction | None
    days: int
    cuts: frozenset[str] | None


@dataclass(frozen=True, slots=True)
class Load:
    """A weight of one cut in a van.

    Parameters
    ----------
    link, cut : int, str
        Which van, and what.
    leaves, last : int
        The day it leaves, and the last on which it may be sold.
    weight : Fraction
        In hundredths of a unit.
    hoped, urgency : float
        Money that the worths say it brings; the same with what is short counted many times.
    """

    link: int
    cut: str
    leaves: int
    last: int
    weight: Fraction
    hoped: float
    urgency: float


@dataclass(frozen=True, slots=True)
class Use:
    """A weight with a day and a last day.

    Of a lot: when it comes in, and up to when it is sound.  Of a use: when it is taken, and up to
    when it has to be sound.
    """

    day: int
    last: int
    weight: Fraction


@dataclass(frozen=True, slots=True)
class _Spare:
    first: int
    last: int
    until: int
    weight: Fraction
    money: Fraction


@dataclass(frozen=True, slots=True)
class _Wish:
    day: int
    weight: Fraction
    money: Fraction
    times: int = 1


def fits(lots: Sequence[Use], uses: Sequence[Use]) -> bool:
    """Tell whether every use can be met out of lots that are there and still sound, exactly.

    A largest flow from lots to uses, by augmenting paths.
    """
    open_ = [lot.weight for lot in lots]
    wanted = [use.weight for use in uses]
    joins = [
        [at for at, lot in enumerate(lots)
         if lot.day <= use.day and lot.last >= max(use.day, use.last)]
        for use in uses
    ]  # fmt: skip
    flow: dict[tuple[int, int], Fraction] = defaultdict(Fraction)
    for use in range(len(uses)):
        while wanted[use]:
            path = _path(use, joins, open_, flow)
            if path is None:
                return False
            back = _taken_back(path)
            amount = min([wanted[use], open_[path[-1][1]], *(flow[pair] for pair in back)])
            for pair in path:
                flow[pair] += amount
            for pair in back:
                flow[pair] -= amount
            wanted[use] -= amount
            open_[path[-1][1]] -= amount
    return True


def _taken_back(path: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    """Return the (use, lot) pairs that give a lot up to the use before them on the path."""
    return [(path[at + 1][0], path[at][1]) for at in range(len(path) - 1)]


def _path(
    use: int,
    joins: Sequence[Sequence[int]],
    open_: Sequence[Fraction],
    flow: Mapping[tuple[int, int], Fraction],
) -> list[tuple[int, int]] | None:
    """Return (use, lot) pairs from a use to a lot with weight left, the shortest; None if none."""
    came: dict[int, tuple[int, int] | None] = {use: None}  # use -> (use before, lot given up)
    queue = [use]
    seen: set[int] = set()
    while queue:
        here = queue.pop(0)
        for lot in joins[here]:
            if lot in seen:
                continue
            seen.add(lot)
            if open_[lot]:
                path = [(here, lot)]
                back = came[here]
                while back is not None:
                    path.insert(0, back)
                    back = came[back[0]]
                return path
            for (taker, taken), amount in flow.items():
                if taken == lot and amount and taker not in came:
                    came[taker] = (here, lot)
                    queue.append(taker)
    return None


def _spare(cut: Cut, row: Plan) -> list[_Spare]:
    """Return what a shop can do without, with what parting from it costs; the oldest is used first.

    Parameters
    ----------
    cut : Cut
        As asked.
    row : mapping
        Its line in the plan.
    """
    lots = [Use(0, lot.days_left, lot.weight) for lot in cut.stock]
    lots += [
        Use(one["day"], one["day"] + cut.keeps_days, Fraction(one["in"])) for one in row["days"]
    ]
    lots.sort(key=lambda lot: (lot.last, lot.day))
    open_ = [lot.weight for lot in lots]
    parting = [Fraction(value) for value in row.get("parting") or row["worth"]]
    found: list[_Spare] = []

    def take(day: int, weight: Fraction, money: Fraction | None, *, after: int = 0) -> None:
        for at, lot in enumerate(lots):
            amount = min(weight, open_[at])
            if amount and lot.day <= day <= lot.last and lot.last >= day + after:
                open_[at] -= amount
                weight -= amount
                if money is not None:
                    found.append(_Spare(lot.day, lot.last, day, amount, money))

    for one in row["days"]:
        day = one["day"]
        take(day, Fraction(one["booked"]), None)
        for weight, money in _sold_in_steps(cut, day, Fraction(one["sold"])):
            take(day, weight, max(parting[day], money))
        take(day, Fraction(one["ground"]), parting[day])
        for at, lot in enumerate(lots):
            if lot.last == day and open_[at]:
                found.append(_Spare(lot.day, lot.last, day, open_[at], parting[day]))
                open_[at] = Fraction(0)
    left = Fraction(row["left"])
    kept = left if cut.left.takes is None else min(left, cut.left.takes)
    for weight, money in ((left - kept, cut.salvage), (kept, cut.left.worth)):
        take(len(row["days"]) - 1, weight, max(parting[-1], money), after=1)
    return found


def _sold_in_steps(cut: Cut, day: int, sold: Fraction) -> list[tuple[Fraction, Fraction]]:
    """Return what is sold on a day in slices, the cheapest to give up first: weight, money a unit.

    The first weight sells at the highest step; what a lower step sells beyond it brings only what
    its takings are more, since all of it goes for less.
    """
    found: list[tuple[Fraction, Fraction]] = []
    weight = money = Fraction(0)
    for step in cut.steps:
        sells = cut.usual[day] * Fraction(float(step) ** -float(cut.elasticity))
        more = min(sold, sells) - weight
        if more > 0:
            found.append((more, (cut.price * step * sells - money) / (sells - weight)))
        weight, money = max(weight, sells), max(money, cut.price * step * sells)
    return [(more, max(Fraction(0), slope)) for more, slope in reversed(found)]


def _wishes(problem: BenchProblem, cut: Cut, row: Plan, short: Sequence[_Wish]) -> list[_Wish]:
    """Return what a shop could still sell at its board price, and what its bookings lack."""
    found = list(short)
    for one, usual, worth in zip(row["days"], cut.usual, row["worth"], strict=True):
        more = usual - Fraction(one["sold"])
        if more > 0 and Fraction(worth) > 0 and problem.days[one["day"]].is_open:
            found.append(_Wish(one["day"], more, Fraction(worth)))
    return found


def _short_of(problem: BenchProblem, plan: Plan) -> dict[str, list[_Wish]]:
    prices = {(booking.id, at): line.price for booking in problem.bookings
              for at, line in enumerate(booking.lines)}  # fmt: skip
    found: dict[str, list[_Wish]] = defaultdict(list)
    for booking in plan["bookings"]:
        for at, line in enumerate(booking["lines"]):
            short = Fraction(line["short"])
            if short:
                price = max(prices[booking["id"], at], Fraction(1, 100))
                found[line["cut"]].append(_Wish(booking["due"], short, price, _FIRST))
    return found


def proposed(
    problems: Sequence[BenchProblem], plans: Sequence[Plan], links: Sequence[Link]
) -> list[Load]:
    """Return the loads that the worths of the plans speak for.

    Parameters
    ----------
    problems, plans : sequence, shape (shops,)
        Each shop's problem and its plan by itself.
    links : sequence of Link
        The vans there may be.

    Returns
    -------
    list of Load
        Of `LEAST` or more each, by link, cut and day.
    """
    spare: list[dict[str, list[_Spare]]] = []
    wishes: list[dict[str, list[_Wish]]] = []
    for problem, plan in zip(problems, plans, strict=True):
        short = _short_of(problem, plan)
        rows = {row["id"]: row for row in plan["cuts"]}
        spare.append({key: _spare(cut, rows[key]) for key, cut in problem.cuts.items()})
        wishes.append({key: _wishes(problem, cut, rows[key], short[key])
                       for key, cut in problem.cuts.items()})  # fmt: skip
    return _solved(spare, wishes, links)


def _pairs(
    spare: Sequence[_Spare], wishes: Sequence[_Wish], link: Link
) -> Iterator[tuple[int, int, int, Fraction, Fraction]]:
    """Yield (spare, wish, day it leaves, gain and urgency per unit) of what pays.

    It leaves as late as it can; where the van is small, any earlier day will do too.
    """
    for out, one in enumerate(spare):
        for into, wish in enumerate(wishes):
            gain = wish.money - one.money - link.cost
            urgency = gain + (wish.times - 1) * wish.money
            first, latest = max(0, one.first), min(one.until, wish.day - link.days)
            if urgency <= 0 or latest < first or wish.day > one.last:
                continue
            for leaves in range(latest if link.most is None else first, latest + 1):
                yield out, into, leaves, gain, urgency


def _solved(
    spare: Sequence[Mapping[str, list[_Spare]]],
    wishes: Sequence[Mapping[str, list[_Wish]]],
    links: Sequence[Link],
) -> list[Load]:
    program = Program()
    limits: dict[tuple[object, ...], int] = {}
    columns: list[tuple[tuple[int, str, int, int], float, float]] = []

    def limit(key: tuple[object, ...], most: Fraction, column: int) -> None:
        if key not in limits:
            limits[key] = program.row({}, high=float(most))
        program.rows[limits[key]][column] = 1.0

    for at, link in enumerate(links):
        both = spare[link.source].keys() & wishes[link.target].keys()
        for cut in sorted(both if link.cuts is None else both & link.cuts):
            here, there = spare[link.source][cut], wishes[link.target][cut]
            for out, into, leaves, gain, urgency in _pairs(here, there, link):
                column = program.column(float(urgency))
                key = (at, cut, leaves, here[out].last)
                columns.append((key, float(gain), float(urgency)))
                limit(("out", link.source, cut, out), here[out].weight, column)
                limit(("in", link.target, cut, into), there[into].weight, column)
                if link.most is not None:
                    limit(("van", at, leaves), link.most, column)
    values = Hot(program).solve().values if columns else []
    return _loads(columns, values)


def _loads(
    columns: Sequence[tuple[tuple[int, str, int, int], float, float]], values: Sequence[float]
) -> list[Load]:
    sums: dict[tuple[int, str, int, int], list[float]] = defaultdict(lambda: [0.0, 0.0, 0.0])
    for (key, gain, urgency), value in zip(columns, values, strict=True):
        for at, amount in enumerate((1.0, gain, urgency)):
            sums[key][at] += amount * value
    found = []
    for key, (value, gain, urgency) in sorted(sums.items()):
        # down to the hundredth, the solver's own noise taken off
        weight = int(value / float(_STEP) + _CENT) * _STEP
        if weight >= LEAST:
            found.append(Load(*key, weight, gain, urgency))
    return found
