"""One week of the farm call in exact fractions, from what the solver proposed in floats.

Each amount is taken to a billionth and then fitted to what there is: large cuts to the pieces they
come off, sales to what is on hand and wanted, and what is over goes to salvage.  So the balances
hold exactly, and the money is that of these amounts.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, fields
from fractions import Fraction

from collop.bench.farm_problem import FarmCut, FarmProblem, Scenario
from collop.bench.farm_program import Week, reach
from collop.bench.farm_tree import FarmWay, Tree
from collop.errors import PlanRejected

__all__ = ["LEAST", "MONEY", "Account", "account_of", "mean_of"]

#: Half a scale step: less than this is no shortage.
LEAST = Fraction(1, 2000)
MONEY = ("sales", "standing", "bookings", "by_products", "bins", "salvage", "kept", "labour",
         "overtime", "making")  # fmt: skip
_GRID = 10**9
_NOISE = Fraction(1, 10**6)


@dataclass(frozen=True, slots=True)
class Account:
    """Weights and money of one week, or of the mean of weeks.

    Parameters
    ----------
    ways : dict of int
        Pieces cut each way.
    cut, made : dict of str
        Weight of each cut off the pieces, and made of trim.
    sold : dict of (str, Fraction)
        Weight of each cut sold at the counter at each price step.
    ground, salvage, wanted, short, surplus, misses : dict of str
        By cut: ground, left for salvage, wanted (at the board price and promised), wanted and not
        met, had and not sold at the board price (see `farm_ends`); 1 if short of it, else 0.  What
        is wanted less short, with the surplus, is what is had.
    promised : dict of int
        Weight served of each promise.
    used : dict of (int, str)
        Weight of a bin in a make.
    trimmed, binned : dict of str
        Weight that comes into each bin, and that is sold from it as it is.
    minutes, money : dict of str
        ``used`` minutes; money by what it is of, costs below zero.
    """

    ways: dict[int, Fraction] = field(default_factory=dict)
    cut: dict[str, Fraction] = field(default_factory=dict)
    made: dict[str, Fraction] = field(default_factory=dict)
    sold: dict[tuple[str, Fraction], Fraction] = field(default_factory=dict)
    ground: dict[str, Fraction] = field(default_factory=dict)
    salvage: dict[str, Fraction] = field(default_factory=dict)
    wanted: dict[str, Fraction] = field(default_factory=dict)
    short: dict[str, Fraction] = field(default_factory=dict)
    surplus: dict[str, Fraction] = field(default_factory=dict)
    misses: dict[str, Fraction] = field(default_factory=dict)
    promised: dict[int, Fraction] = field(default_factory=dict)
    used: dict[tuple[int, str], Fraction] = field(default_factory=dict)
    trimmed: dict[str, Fraction] = field(default_factory=dict)
    binned: dict[str, Fraction] = field(default_factory=dict)
    minutes: dict[str, Fraction] = field(default_factory=dict)
    money: dict[str, Fraction] = field(default_factory=dict)

    @property
    def contribution(self) -> Fraction:
        """Return the money of the week, before the animals are paid."""
        return sum(self.money.values(), Fraction(0))


def mean_of(accounts: Sequence[Account], chances: Sequence[Fraction]) -> Account:
    """Return the mean of weeks by their chances."""
    found = Account()
    for part in fields(Account):
        total: dict[object, Fraction] = getattr(found, part.name)
        for account, chance in zip(accounts, chances, strict=True):
            for key, value in getattr(account, part.name).items():
                if value:
                    total[key] = total.get(key, Fraction(0)) + chance * value
                else:
                    total.setdefault(key, Fraction(0))
    return found


def account_of(
    problem: FarmProblem,
    tree: Tree,
    counts: Sequence[int],
    scenario: Scenario,
    proposed: tuple[Week, Sequence[float]],
) -> Account:
    """Return one week exactly.

    Parameters
    ----------
    counts : sequence of int, shape (animals,)
        Numbers ordered.
    proposed : Week and values
        Its columns, and the solver's values of all columns.

    Raises
    ------
    PlanRejected
        If the proposal is further from the rules than the noise of floats.
    """
    week, values = proposed
    teller = _Teller(problem, tree, scenario, week, [max(0, round(v * _GRID)) for v in values])
    teller.cut_up(counts)
    teller.trim()
    for cut in problem.cuts.values():
        teller.hand_out(cut)
    teller.pay()
    return teller.account


@dataclass(slots=True)
class _Teller:
    """Fits one week together, step by step."""

    problem: FarmProblem
    tree: Tree
    scenario: Scenario
    week: Week
    grid: list[int]
    account: Account = field(default_factory=Account)

    def _value(self, column: int) -> Fraction:
        return Fraction(self.grid[column], _GRID)

    def cut_up(self, counts: Sequence[int]) -> None:
        """Fit the ways of each node to the pieces there are, and weigh what comes off."""
        found = self.account
        for cut in self.problem.cuts:
            found.cut[cut] = found.made[cut] = Fraction(0)
        for one in self.problem.bins:
            found.trimmed[one] = Fraction(0)
        for node in self.tree.nodes:
            pieces = [self._value(self.week.ways[way]) for way in node.ways]
            if node.parent is not None:
                pieces = _fit(pieces, found.ways[node.parent])
            else:
                most = Fraction(1 if node.animal is None else counts[node.animal])
                if sum(pieces) > most - _NOISE:
                    pieces = _fit(pieces, most)
            found.ways.update(zip(node.ways, pieces, strict=True))
        for way in self.tree.ways:
            self._weigh(way, found.ways[way.index])

    def _weigh(self, way: FarmWay, pieces: Fraction) -> None:
        if not pieces:
            return
        into = {"cut": self.account.cut, "bin": self.account.trimmed}
        for output in way.style.outputs:
            if output.to in into:
                into[output.to][output.id] += pieces * way.weight * output.share

    def trim(self) -> None:
        """Grind what is there, and make what the bins allow."""
        found = self.account
        for cut in self.problem.cuts.values():
            if cut.ground is not None:
                there = cut.on_hand + found.cut[cut.id]
                weight = min(self._value(self.week.ground[cut.id]), there)
                found.ground[cut.id] = weight
                found.trimmed[cut.ground.bin] += weight * cut.ground.gives
        left = {one.id: one.on_hand + found.trimmed[one.id] for one in self.problem.bins.values()}
        for (at, one), column in self.week.made.items():
            weight = min(self._value(column), left[one])
            left[one] -= weight
            found.used[at, one] = weight
            make = self.problem.makes[at]
            found.made[make.cut] += weight / (1 - make.added)
        found.binned.update(left)

    def hand_out(self, cut: FarmCut) -> None:
        """Serve what is promised, then the counter; the rest goes to salvage."""
        found = self.account
        had = cut.on_hand + found.cut[cut.id] + found.made[cut.id]
        left = had - found.ground.get(cut.id, Fraction(0))
        counter = self.scenario.wants[cut.id]
        promised = Fraction(0)
        for at, one in enumerate(self.problem.promises):
            if one.cut == cut.id:
                served = min(self._value(self.week.promised[at]), one.weight, left)
                if one.weight - served < _NOISE and left >= one.weight:
                    served = one.weight
                found.promised[at] = served
                left -= served
                promised += one.weight
        met, room = had - left - found.ground.get(cut.id, Fraction(0)), counter
        for step in cut.steps:
            times = reach(cut, step)
            weight = min(self._value(self.week.sold[cut.id, step]), left, room * times)
            found.sold[cut.id, step] = weight
            left -= weight
            room -= weight / times
            # at a lower price, those who would have bought at the board are met
            met += weight / max(times, Fraction(1))
        found.salvage[cut.id] = left
        wanted = found.wanted[cut.id] = counter + promised
        found.short[cut.id] = wanted - met
        found.surplus[cut.id] = had - met
        found.misses[cut.id] = Fraction(1 if found.short[cut.id] > LEAST else 0)

    def pay(self) -> None:
        """Add up the money and the minutes."""
        found, problem = self.account, self.problem
        money = found.money
        money.update(dict.fromkeys(MONEY, Fraction(0)))
        for (cut, step), weight in found.sold.items():
            money["sales"] += weight * step * problem.cuts[cut].price
        for cut, weight in found.salvage.items():
            money["salvage"] += weight * problem.cuts[cut].salvage
        for at, one in enumerate(problem.promises):
            key = "standing" if one.standing else "bookings"
            money[key] += found.promised[at] * one.price
        for one_bin, weight in found.binned.items():
            money["bins"] += weight * problem.bins[one_bin].worth
        money["kept"] = sum((piece.worth_left for piece in problem.hanging), Fraction(0))
        for way in self.tree.ways:
            self._by_products(way, found.ways[way.index], money)
        for (at, _), weight in found.used.items():
            make = problem.makes[at]
            cost = make.added * make.added_cost + make.cost_per_unit
            money["making"] -= weight / (1 - make.added) * cost
        self._work(money)

    def _by_products(
        self, way: FarmWay, pieces: Fraction, money: dict[str, Fraction]
    ) -> None:  # fmt: skip
        if not pieces:
            return
        for output in way.style.outputs:
            money["by_products"] += pieces * way.weight * output.share * output.worth
        hanging = self.tree.nodes[way.node].hanging
        if hanging is not None:
            money["kept"] -= pieces * self.problem.hanging[hanging].worth_left

    def _work(self, money: dict[str, Fraction]) -> None:
        found, labour = self.account, self.problem.labour
        used = sum(
            (found.ways[way.index] * way.style.minutes for way in self.tree.ways), Fraction(0)
        )
        for cut, weight in found.ground.items():
            ground = self.problem.cuts[cut].ground
            assert ground is not None
            used += weight * ground.minutes_per_unit
        for (at, _), weight in found.used.items():
            make = self.problem.makes[at]
            used += weight / (1 - make.added) * make.minutes_per_unit
        found.minutes["used"] = used
        if labour is None:
            return
        over = max(Fraction(0), used - labour.minutes)
        if over > labour.overtime_minutes + _NOISE * max(Fraction(1), used):
            raise PlanRejected(
                "The order needs more minutes than there are; nothing is shown. Please report it."
            )
        money["labour"] = -(used - over) * labour.per_hour / 60
        money["overtime"] = -over * labour.overtime_per_hour / 60


def _fit(pieces: Sequence[Fraction], total: Fraction) -> list[Fraction]:
    """Return the pieces with a sum of `total` exactly, the difference taken by the largest."""
    found = list(pieces)
    at = max(range(len(found)), key=found.__getitem__)
    found[at] += total - sum(found, Fraction(0))
    if found[at] < 0:
        found = [Fraction(0)] * len(found)
        found[at] = total
    return found


def short_weight(problem: FarmProblem, account: Account) -> Mapping[int, Fraction]:
    """Return what is missing of each promise, by its place."""
    return {at: one.weight - account.promised[at] for at, one in enumerate(problem.promises)}
