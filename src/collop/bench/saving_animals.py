"""How many more pieces of a kind would cover a short line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from collop.bench.problem import BenchProblem, Kind, Make, Output, Piece
from collop.bench.saving_trial import Before, Budget, Lack, Trial

__all__ = ["MOST_MORE", "Herd", "enough_of", "herds_for", "with_more"]

#: More pieces than this are not asked for.
MOST_MORE = 40
_KINDS = 2
_SOLVES = 3
_STEP = Fraction(1, 1000)


@dataclass(frozen=True, slots=True)
class Herd:
    """A kind that gives the cut.

    Parameters
    ----------
    kind : Kind
        Which.
    weight, worth_left : Fraction
        The mean of those that hang.
    gives : Fraction
        Most of the cut that one such piece gives, in units of weight.
    by : int
        Day from which it hangs.
    is_plain : bool
        Whether the cut comes off the piece itself, not through trim.
    """

    kind: Kind
    weight: Fraction
    worth_left: Fraction
    gives: Fraction
    by: int
    is_plain: bool


def _per_unit(
    problem: BenchProblem, cut: str, make: Make | None
) -> dict[tuple[str, str], Fraction]:
    """Return how much of a cut one unit of each output becomes at the most."""
    found = {("cut", cut): Fraction(1)}
    if make is None:
        return found
    grows = 1 / (1 - make.added)
    for name in make.bins:
        found["bin", name] = grows
    for other in problem.cuts.values():
        if other.ground is not None and other.ground.bin in make.bins and other.id != cut:
            found["cut", other.id] = other.ground.gives * grows
    return found


def _most_of(kind: Kind, kinds: Mapping[str, Kind],
             worth: Mapping[tuple[str, str], Fraction]) -> Fraction:  # fmt: skip
    """Return how much of the cut a unit of a kind gives in its best style."""

    def of_output(output: Output) -> Fraction:
        if output.to == "kind":
            return output.share * _most_of(kinds[output.id], kinds, worth)
        return output.share * worth.get((output.to, output.id), Fraction(0))

    return max(
        (sum((of_output(one) for one in style.outputs), Fraction(0)) for style in kind.styles),
        default=Fraction(0),
    )


def herds_for(problem: BenchProblem, lack: Lack, cut: str) -> list[Herd]:
    """Return the kinds that give the cut, those first whose worth in all is least.

    Only a kind of which something hangs has a weight to reckon with.
    """
    makes = [make for make in problem.makes if make.cut == cut]
    worth = _per_unit(problem, cut, None)
    plain = dict(worth)
    for make in makes:
        for place, amount in _per_unit(problem, cut, make).items():
            worth[place] = max(amount, worth.get(place, Fraction(0)))
    at_work = [day for day in range(lack.due + 1) if any(h.minutes[day] for h in problem.hands)]
    by = max(at_work, default=lack.due)
    found = []
    for key, kind in problem.kinds.items():
        hang = [piece for piece in problem.rail if piece.kind == key]
        share = _most_of(kind, problem.kinds, worth)
        if not hang or not share:
            continue
        weight = round(sum((one.weight for one in hang), Fraction(0)) / len(hang) / _STEP) * _STEP
        left = sum((one.worth_left for one in hang), Fraction(0)) / len(hang)
        is_plain = share == _most_of(kind, problem.kinds, plain)
        found.append(Herd(kind, weight, left, weight * share, by, is_plain))
    few = [one for one in found if least_of(lack, one) <= MOST_MORE]
    few.sort(key=lambda one: (least_of(lack, one) * one.worth_left, one.kind.id))
    return few[:_KINDS]


def least_of(lack: Lack, herd: Herd) -> int:
    """Return how many pieces give what is short, were all of it to come off them."""
    return -int(-lack.short // herd.gives)


def with_more(problem: BenchProblem, herd: Herd, count: int) -> BenchProblem:
    """Return the problem with so many more pieces of a kind, hanging from the day `herd.by`."""
    tags = {piece.tag for piece in problem.rail}
    more: list[Piece] = []
    number = 0
    while len(more) < count:
        number += 1
        tag = f"more {number}"
        if tag not in tags:
            more.append(Piece(tag, herd.kind.id, herd.weight, Fraction(0), herd.by,
                              len(problem.days) - 1, must=False, worth_left=herd.worth_left,
                              claims=()))  # fmt: skip
    return replace(problem, rail=(*problem.rail, *more))


class _Counting:
    """Tries of one kind; each number is tried once."""

    def __init__(self, problem: BenchProblem, lack: Lack, before: Before, budget: Budget,
                 herd: Herd) -> None:  # fmt: skip
        self.problem, self.lack, self.before = problem, lack, before
        self.budget, self.herd, self.solves = budget, herd, _SOLVES
        self.known: dict[int, Trial] = {}

    def trial(self, count: int) -> Trial:
        if count not in self.known:
            changed = with_more(self.problem, self.herd, count)
            self.known[count] = Trial(changed, self.lack, self.before, self.budget)
        return self.known[count]

    def is_spent(self) -> bool:
        return self.solves <= 0 or self.budget.is_spent

    def may(self, count: int) -> bool:
        return self.budget.columns > 0 and self.trial(count).may_cover()

    def covers(self, count: int) -> bool:
        self.solves -= 1
        return self.trial(count).covers()

    def least_possible(self) -> int | None:
        """Return the least number that the relaxed program lets cover it; None if none does."""
        low, high = 0, least_of(self.lack, self.herd)
        if not self.may(high):
            low, high = high, MOST_MORE
            if low == high or not self.may(high):
                return None
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if self.may(middle) else (middle, high)
        return high


def enough_of(problem: BenchProblem, lack: Lack, before: Before, budget: Budget,
              herd: Herd) -> int | None:  # fmt: skip
    """Return how few more pieces of a kind were found to cover a short line.

    Returns
    -------
    int or None
        None if up to `MOST_MORE` do not, or if it is not settled within the budget.
    """
    counting = _Counting(problem, lack, before, budget, herd)
    fewest = counting.least_possible()
    if fewest is None:
        return None
    failed, passed = fewest - 1, 0
    count = max(fewest, least_of(lack, herd))
    while not counting.is_spent():
        if counting.covers(count):
            passed = count
        else:
            failed = count
        if failed >= MOST_MORE or passed == failed + 1:
            break
        if not passed:
            count = min(MOST_MORE, 2 * failed)
        elif failed < fewest:  # as a rule one fewer gives too little, and that settles it
            count = passed - 1
        else:
            count = (failed + passed) // 2
    return passed or None
