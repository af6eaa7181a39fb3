"""Every way a piece may be broken: one column for each style and day, with exact weights.

A large cut that comes off has columns of its own, one for each day its parent may be broken and
each day it may then be cut, so that its weight is known exactly.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from collop.bench.problem import BenchProblem, Kind, Output, Piece, Style

__all__ = ["STEP", "Way", "divided", "ways_of"]

#: One scale step: a thousandth of the unit.
STEP = Fraction(1, 1000)


@dataclass(frozen=True, slots=True)
class Way:
    """One thing the knife may do.

    Parameters
    ----------
    index : int
        Its place among all ways.
    node : str
        What is cut: the tag of the piece, or ``tag/large cut`` and so on down the tree.
    tag, kind : str
        The piece on the rail, and what kind is cut here.
    style : Style
        How.
    day : int
        When.
    parent : int, optional
        The way it comes off; None for a piece on the rail.
    weight : Fraction
        What is cut, in whole thousandths.
    free : Fraction
        The share of it that no claim takes.
    parts : tuple of (Output, Fraction)
        Each output and its weight; they add up to `weight` exactly.
    """

    index: int
    node: str
    tag: str
    kind: str
    style: Style
    day: int
    parent: int | None
    weight: Fraction
    free: Fraction
    parts: tuple[tuple[Output, Fraction], ...]

    def to_free(self, weight: Fraction) -> Fraction:
        """Return what of a part no claim takes, cut off to the thousandth."""
        if self.free == 1:
            return weight
        steps = weight * self.free / STEP
        return (steps.numerator // steps.denominator) * STEP


def divided(weight: Fraction, shares: Sequence[Fraction]) -> list[Fraction]:
    """Divide whole thousandths by shares that sum to 1; the last steps go to the largest rests.

    Examples
    --------
    >>> [str(one) for one in divided(Fraction(1, 1000), [Fraction(1, 3), Fraction(2, 3)])]
    ['0', '1/1000']
    """
    steps = weight / STEP
    exact = [steps * share for share in shares]
    whole = [amount.numerator // amount.denominator for amount in exact]
    left = int(steps) - sum(whole)
    order = sorted(range(len(exact)), key=lambda at: (whole[at] - exact[at], at))
    for at in order[:left]:
        whole[at] += 1
    return [count * STEP for count in whole]


class _Ways:
    def __init__(self, problem: BenchProblem) -> None:
        self.problem = problem
        self.found: list[Way] = []
        self.days = len(problem.days)

    def add(self, node: str, kind: Kind, piece: Piece, *, at: tuple[int, int], parent: int | None,
            weight: Fraction) -> Iterator[Way]:  # fmt: skip
        """Add the ways to cut one thing on each day from `at[0]` to `at[1]`."""
        for style in kind.styles:
            for day in range(at[0], at[1] + 1):
                hung = piece.weight_on(day) if parent is None else weight
                shares = [output.share for output in style.outputs]
                parts = tuple(zip(style.outputs, divided(hung, shares), strict=True))
                way = Way(len(self.found), node, piece.tag, kind.id, style, day, parent, hung,
                          1 - piece.claimed, parts)  # fmt: skip
                self.found.append(way)
                yield way

    def below(self, way: Way, piece: Piece) -> None:
        """Add the ways to cut the large cuts that come off `way`."""
        for at, (output, weight) in enumerate(way.parts):
            if output.to != "kind" or not weight:
                continue
            kind = self.problem.kinds[output.id]
            last = min(way.day + kind.holds_days, self.days - 1)
            node = f"{way.node}/{output.name or kind.name}"
            if sum(1 for one, _ in way.parts if one.to == "kind" and one.id == output.id) > 1:
                node += f" {at + 1}"
            for below in list(self.add(node, kind, piece, at=(way.day, last), parent=way.index,
                                       weight=weight)):  # fmt: skip
                self.below(below, piece)


def ways_of(problem: BenchProblem) -> tuple[Way, ...]:
    """Return every way to break what hangs, in the order of tags, days and styles.

    A lock leaves only the ways that agree with it; a piece that is kept has none.
    """
    ways = _Ways(problem)
    locks = {lock.tag: lock for lock in problem.locks}
    for piece in sorted(problem.rail, key=lambda one: one.tag):
        lock = locks.get(piece.tag)
        if lock is not None and lock.style is None:
            continue
        first, last = max(0, piece.from_day), min(piece.until_day, ways.days - 1)
        if lock is not None and lock.day is not None:
            first = last = lock.day
        kind = problem.kinds[piece.kind]
        if lock is not None:
            styles = tuple(style for style in kind.styles if style.id == lock.style)
            kind = Kind(kind.id, kind.name, kind.species, styles, kind.holds_days)
        roots = list(ways.add(piece.tag, kind, piece, at=(first, last), parent=None,
                              weight=piece.weight))  # fmt: skip
        for root in roots:
            ways.below(root, piece)
    return tuple(ways.found)
