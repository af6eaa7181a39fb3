"""The money of a plan, from its exact weights; each part is rounded once."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from collop.bench.problem import BenchProblem, Cut
from collop.bench.weights import Flows, Stock
from collop.measures import Money, minor_places, round_fraction

__all__ = ["Book", "money_of"]

_NONE = Fraction(0)
_COSTS = frozenset({"labour", "overtime", "making"})


@dataclass(frozen=True, slots=True)
class Book:
    """What a plan brings and costs.

    Parameters
    ----------
    problem : BenchProblem
        Gives currency and rounding.
    parts : dict of int
        Minor units by name; labour, overtime and making are costs, above zero.
    exact : Fraction
        Contribution before rounding, in major units.
    minutes : dict of (int, int)
        Minutes used and overtime, by hand and day.
    """

    problem: BenchProblem
    parts: dict[str, int]
    exact: Fraction
    minutes: dict[tuple[int, int], tuple[Fraction, Fraction]]

    @property
    def contribution(self) -> int:
        """Return the sum of the rounded parts, in minor units."""
        return sum(-minor if name in _COSTS else minor for name, minor in self.parts.items())

    def minor(self, amount: Fraction) -> int:
        """Return an amount of major units rounded to minor units."""
        return round_fraction(amount * 10 ** minor_places(self.problem.currency),
                              self.problem.rounding)  # fmt: skip

    def text(self, minor: int) -> str:
        """Return minor units as decimal text."""
        return str(Money(minor, self.problem.currency))


def money_of(problem: BenchProblem, flows: Flows) -> Book:
    """Return what the exact weights of a plan bring and cost."""
    parts: dict[str, Fraction] = dict.fromkeys(
        ("bookings", "sales", "by_products", "bins", "salvage", "left", "kept", "labour",
         "overtime", "making"), _NONE,
    )  # fmt: skip
    for (at, number), met in flows.met.items():
        parts["bookings"] += met * problem.bookings[at].lines[number].price
    for key, stock in flows.cuts.items():
        for name, amount in _of_cut(problem.cuts[key], stock).items():
            parts[name] += amount
    for key, stock in flows.bins.items():
        sold = (sum(day.sold.values(), _NONE) for day in stock.days)
        parts["bins"] += sum(sold, _NONE) * problem.bins[key].worth
    parts["by_products"] = sum(
        (way.to_free(weight) * output.worth for way in flows.ways for output, weight in way.parts
         if output.to == "worth"), _NONE,
    )  # fmt: skip
    broken = {way.tag for way in flows.ways}
    kept = (one for one in problem.rail if one.tag not in broken)
    parts["kept"] = sum((one.worth_left * (1 - one.claimed) for one in kept), _NONE)
    for batch in flows.batches:
        make = problem.makes[batch.make]
        parts["making"] += batch.finished * (make.added * make.added_cost + make.cost_per_unit)
    minutes = _minutes(problem, flows)
    for (at, _), (used, extra) in minutes.items():
        parts["labour"] += used * problem.hands[at].per_hour / 60
        parts["overtime"] += extra * problem.hands[at].overtime_per_hour / 60
    exact = sum((-p if name in _COSTS else p for name, p in parts.items()), _NONE)
    book = Book(problem, {}, exact, minutes)
    book.parts.update({name: book.minor(amount) for name, amount in parts.items()})
    return book


def _of_cut(cut: Cut, stock: Stock) -> dict[str, Fraction]:
    left = stock.total
    good = left if cut.left.takes is None else min(left, cut.left.takes)
    return {
        "sales": sum((weight * cut.price * cut.steps[step] for day in stock.days
                      for step, weight in day.sold.items()), _NONE),
        "salvage": sum((day.spoilt for day in stock.days), _NONE) * cut.salvage,
        "left": good * max(cut.left.worth, cut.salvage) + (left - good) * cut.salvage,
    }  # fmt: skip


def _work(problem: BenchProblem, flows: Flows) -> dict[int, dict[frozenset[str], Fraction]]:
    """Return minutes of work by day and by the hands that may do it."""
    everybody = frozenset(hand.name for hand in problem.hands)
    found: dict[int, dict[frozenset[str], Fraction]] = defaultdict(lambda: defaultdict(Fraction))
    for way in flows.ways:
        able = frozenset(h.name for h in problem.hands if way.style.id not in h.cannot)
        found[way.day][able] += way.style.minutes
    for batch in flows.batches:
        found[batch.day][everybody] += batch.finished * problem.makes[batch.make].minutes_per_unit
    for grind in flows.grinds:
        ground = problem.cuts[grind.cut].ground
        assert ground is not None
        found[grind.day][everybody] += grind.weight * ground.minutes_per_unit
    return found


def _minutes(
    problem: BenchProblem, flows: Flows
) -> dict[tuple[int, int], tuple[Fraction, Fraction]]:
    """Share the work out at least cost: the cheapest minutes first, those few can do before.

    Exact: a flow that sends each group's minutes along the cheapest path that is left, and takes
    back what stands in its way.
    """
    work = _work(problem, flows)
    found = {}
    for day in range(len(problem.days)):
        slots = [
            slot
            for at, hand in enumerate(problem.hands)
            for slot in ((hand.per_hour, 0, at, hand.minutes[day]),
                         (hand.overtime_per_hour, 1, at, hand.overtime[day]))
        ]  # fmt: skip
        # at the same pay, those who have most time for it
        slots.sort(key=lambda one: (one[0], one[1], -one[3], one[2]))
        used = _least_cost(problem, work.get(day, {}), slots)
        for at in range(len(problem.hands)):
            found[at, day] = (used.get((at, 0), _NONE), used.get((at, 1), _NONE))
    return found


def _least_cost(
    problem: BenchProblem, work: dict[frozenset[str], Fraction],
    slots: list[tuple[Fraction, int, int, Fraction]],
) -> dict[tuple[int, int], Fraction]:  # fmt: skip
    """Return minutes by (hand, 0 regular or 1 overtime).

    The hands that may do some work make a matroid, so taking the cheapest minutes first, each as
    far as all work can still be placed, is best.
    """
    groups = sorted(work, key=sorted)
    names = [hand.name for hand in problem.hands]
    used: dict[tuple[int, int], Fraction] = {}
    total = sum(work.values(), _NONE)
    for _, kind, at, capacity in slots:
        take = min(capacity, _room_for(at, groups, work, used, names), total)
        if take > 0:
            used[at, kind] = take
            total -= take
    return used


def _room_for(
    at: int, groups: list[frozenset[str]], work: dict[frozenset[str], Fraction],
    used: dict[tuple[int, int], Fraction], names: list[str],
) -> Fraction:  # fmt: skip
    """Return how many more minutes of hand `at` can be work: the least over sets of hands.

    Minutes placed on a set of hands are at most the work that any of them may do.
    """
    least = sum(work.values(), _NONE)
    for inside in _sets(groups, names):
        if names[at] not in inside:
            continue
        can = sum((work[group] for group in groups if group & inside), _NONE)
        placed = sum((m for (hand, _), m in used.items() if names[hand] in inside), _NONE)
        least = min(least, can - placed)
    return max(_NONE, least)


def _sets(groups: list[frozenset[str]], names: list[str]) -> Iterator[frozenset[str]]:
    """Yield sets of hands, enough of them: all, or all that may do none of some groups.

    Whichever are fewer; the reading lets no more than 8 hands and 8 groups meet.
    """
    every = frozenset(names)
    if len(names) <= len(groups):
        for mask in range(1, 1 << len(names)):
            yield frozenset(name for bit, name in enumerate(names) if mask >> bit & 1)
        return
    for mask in range(1 << len(groups)):
        yield every.difference(*(group for bit, group in enumerate(groups) if mask >> bit & 1))
