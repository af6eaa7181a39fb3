"""The farm call as a program: whole numbers of animals, then a week of continuous choices.

For one week that may come, with n animals ordered:

    max  by-products + sales + promises + bins + salvage + pieces kept - labour - making
    sum of a node's ways        <= n (an animal), 1 (a piece that hangs), = its parent (a large cut)
    on hand + cut + made         = promised + sold + ground + salvage          of each cut
    sum over steps sold / reach <= what the week wants                         of each cut
    on hand + trim + ground      = into makes + sold as it is                  of each bin
    fat of a make's meat within its limits; minutes <= usual + overtime

A unit that is promised and not served counts as a loss of the dearest price there is, beside its
own, so that promises come before the counter; it is no money, and told apart.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from collop.bench.farm_problem import FarmCut, FarmProblem, Scenario
from collop.bench.farm_tree import FarmWay, Tree
from collop.bench.problem import Make
from collop.bench.program import Program

__all__ = ["MOST_REACH", "Week", "add_week", "dearest", "reach", "size_of"]

_PLACES = 9
#: No price step is taken to sell more than so many times the board price's weight.
MOST_REACH = 1000


def reach(cut: FarmCut, step: Fraction) -> Fraction:
    """Return how many times its usual weight a cut sells at a step of its price."""
    if step == 1:
        return Fraction(1)
    found = min(float(MOST_REACH), float(step) ** -float(cut.elasticity))
    return Fraction(round(found * 10**_PLACES), 10**_PLACES)


def dearest(problem: FarmProblem) -> Fraction:
    """Return the dearest price of a unit: what a promised unit that is short counts besides."""
    board = [cut.price * cut.steps[0] for cut in problem.cuts.values()]
    return max(*board, *(one.price for one in problem.promises), Fraction(1, 100))


@dataclass(slots=True)
class Week:
    """Where the columns and rows of one week stand in its program."""

    ways: list[int] = field(default_factory=list)
    sold: dict[tuple[str, Fraction], int] = field(default_factory=dict)
    ground: dict[str, int] = field(default_factory=dict)
    salvage: dict[str, int] = field(default_factory=dict)
    promised: list[int] = field(default_factory=list)
    made: dict[tuple[int, str], int] = field(default_factory=dict)
    bins: dict[str, int] = field(default_factory=dict)
    ladders: dict[str, int] = field(default_factory=dict)


def size_of(problem: FarmProblem, tree: Tree) -> int:
    """Return how many columns one week has."""
    steps = sum(len(cut.steps) + 2 for cut in problem.cuts.values())
    makes = sum(len(make.bins) for make in problem.makes)
    return len(tree.ways) + steps + makes + len(problem.bins) + len(problem.promises) + 2


def add_week(
    program: Program,
    problem: FarmProblem,
    tree: Tree,
    counts: Sequence[int],
    scenario: Scenario,
    *,
    scale: float,
) -> Week:
    """Add the columns and rows of one week.

    Parameters
    ----------
    program : Program
        Maximises.
    counts : sequence of int, shape (animals,)
        Columns of the numbers ordered.
    scenario : Scenario
        What is wanted.
    scale : float
        Weight of this week's money.

    Returns
    -------
    Week
        Its columns, and the rows of its demand.
    """
    writer = _Writer(program, problem, tree, scale)
    writer.break_down(counts)
    writer.sell(scenario)
    writer.grind_and_make()
    writer.promise()
    writer.close()
    return writer.week


@dataclass(slots=True)
class _Writer:
    """Writes one week into a program, balance by balance."""

    program: Program
    problem: FarmProblem
    tree: Tree
    scale: float
    week: Week = field(default_factory=Week)
    cuts: dict[str, dict[int, float]] = field(default_factory=dict)
    bins: dict[str, dict[int, float]] = field(default_factory=dict)
    minutes: dict[int, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.cuts = {cut: {} for cut in self.problem.cuts}
        self.bins = {one: {} for one in self.problem.bins}

    def _column(self, gain: Fraction | float, minutes: Fraction | float = 0, *,
                most: float = float("inf")) -> int:  # fmt: skip
        column = self.program.column(self.scale * float(gain), most=most)
        if minutes:
            self.minutes[column] = float(minutes)
        return column

    def break_down(self, counts: Sequence[int]) -> None:
        """Add the ways, tied to the animals, the rail and the large cuts they come off."""
        for way in self.tree.ways:
            column = self._column(self._by_products(way), way.style.minutes)
            self.week.ways.append(column)
            for output in way.style.outputs:
                into = {"cut": self.cuts, "bin": self.bins}.get(output.to)
                if into is not None:
                    into[output.id][column] = float(way.weight * output.share)
        for node in self.tree.nodes:
            terms = {self.week.ways[way]: 1.0 for way in node.ways}
            if node.animal is not None:
                self.program.row({**terms, counts[node.animal]: -1.0}, high=0.0)
            elif node.parent is not None:
                self.program.row({**terms, self.week.ways[node.parent]: -1.0}, 0.0, 0.0)
            else:
                self.program.row(terms, high=1.0)

    def _by_products(self, way: FarmWay) -> Fraction:
        """Return what a piece cut this way brings at once, less what it was worth hanging."""
        outputs = way.style.outputs
        found = sum((one.worth * one.share * way.weight for one in outputs), Fraction(0))
        hanging = self.tree.nodes[way.node].hanging
        return found if hanging is None else found - self.problem.hanging[hanging].worth_left

    def sell(self, scenario: Scenario) -> None:
        """Add what is sold at each step of the price, and what is left for salvage."""
        for cut in self.problem.cuts.values():
            ladder = {}
            for step in cut.steps:
                column = self._column(cut.price * step)
                self.week.sold[cut.id, step] = column
                self.cuts[cut.id][column] = -1.0
                ladder[column] = 1 / float(reach(cut, step))
            row = self.program.row(ladder, high=float(scenario.wants[cut.id]))
            self.week.ladders[cut.id] = row
            column = self.week.salvage[cut.id] = self._column(cut.salvage)
            self.cuts[cut.id][column] = -1.0

    def grind_and_make(self) -> None:
        """Add cuts that become trim, trim that becomes mince and links, and trim sold as it is."""
        for cut in self.problem.cuts.values():
            if cut.ground is not None:
                column = self.week.ground[cut.id] = self._column(0, cut.ground.minutes_per_unit)
                self.cuts[cut.id][column] = -1.0
                self.bins[cut.ground.bin][column] = float(cut.ground.gives)
        for at, make in enumerate(self.problem.makes):
            self._make(at, make)
        for one in self.problem.bins.values():
            column = self.week.bins[one.id] = self._column(one.worth)
            self.bins[one.id][column] = -1.0

    def _make(self, at: int, make: Make) -> None:
        per = 1 / (1 - make.added)  # finished weight of a unit of meat
        cost = per * (make.added * make.added_cost + make.cost_per_unit)
        low: dict[int, float] = {}
        high: dict[int, float] = {}
        for one in make.bins:
            column = self._column(-cost, per * make.minutes_per_unit)
            self.week.made[at, one] = column
            self.bins[one][column] = -1.0
            self.cuts[make.cut][column] = float(per)
            fat = self.problem.bins[one].fat
            high[column] = 0.0 if make.fat_max is None else float(fat - make.fat_max)
            low[column] = 0.0 if make.fat_min is None else float(fat - make.fat_min)
        if make.fat_max is not None:
            self.program.row(high, high=0.0)
        if make.fat_min is not None:
            self.program.row(low, low=0.0)

    def promise(self) -> None:
        """Add what of each standing order and booking is served."""
        beside = dearest(self.problem)
        for one in self.problem.promises:
            column = self._column(one.price + beside, most=float(one.weight))
            self.week.promised.append(column)
            self.cuts[one.cut][column] = -1.0

    def close(self) -> None:
        """Add the balances and the minutes."""
        for cut in self.problem.cuts.values():
            self.program.row(self.cuts[cut.id], *([-float(cut.on_hand)] * 2))
        for one in self.problem.bins.values():
            self.program.row(self.bins[one.id], *([-float(one.on_hand)] * 2))
        labour = self.problem.labour
        if labour is None or not self.minutes:
            return
        usual = self._column(-labour.per_hour / 60, most=float(labour.minutes))
        more = self._column(-labour.overtime_per_hour / 60, most=float(labour.overtime_minutes))
        self.program.row({**self.minutes, usual: -1.0, more: -1.0}, high=0.0)
