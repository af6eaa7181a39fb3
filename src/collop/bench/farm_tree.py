"""Every way the animals of the week may be cut, with what one piece of each way weighs.

A large cut hangs on the way it comes off, so that its weight and minutes are those of that piece.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from collop.bench.farm_problem import FarmProblem
from collop.bench.problem import Kind, Style

__all__ = ["FarmWay", "Node", "Tree", "most_of", "tree_of"]

_Origin = tuple[int | None, int | None, int | None]


@dataclass(frozen=True, slots=True)
class FarmWay:
    """One style of one node; `weight` is of one piece that is cut this way."""

    index: int
    node: int
    kind: Kind
    style: Style
    weight: Fraction


@dataclass(frozen=True, slots=True)
class Node:
    """Pieces of one kind and weight.

    Parameters
    ----------
    animal, hanging : int, optional
        Place of the animal, or of the piece that hangs already; both None for a large cut.
    parent : int, optional
        The way it comes off: one with each piece cut that way.
    ways : range
        Its own ways.
    """

    animal: int | None
    hanging: int | None
    parent: int | None
    ways: range


@dataclass(frozen=True, slots=True)
class Tree:
    """All nodes, each after the one it comes off, and all their ways."""

    nodes: tuple[Node, ...]
    ways: tuple[FarmWay, ...]


def tree_of(problem: FarmProblem) -> Tree:
    """Return the nodes and ways of all that can be ordered and all that hangs."""
    nodes: list[Node] = []
    ways: list[FarmWay] = []

    def grow(kind: Kind, weight: Fraction, origin: _Origin) -> None:
        first = len(ways)
        for style in kind.styles:
            ways.append(FarmWay(len(ways), len(nodes), kind, style, weight))
        nodes.append(Node(*origin, range(first, len(ways))))
        for way in ways[first:]:
            for output in way.style.outputs:
                if output.to == "kind":
                    part = weight * output.share
                    grow(problem.kinds[output.id], part, (None, None, way.index))

    for at, animal in enumerate(problem.animals):
        grow(problem.kinds[animal.kind], animal.weight, (at, None, None))
    for at, piece in enumerate(problem.hanging):
        grow(problem.kinds[piece.kind], piece.weight, (None, at, None))
    return Tree(tuple(nodes), tuple(ways))


def most_of(kinds: Mapping[str, Kind], kind: str, cut: str) -> Fraction:
    """Return the largest share of a kind that can become a cut, by the best style at each step."""
    shares: dict[str, Fraction] = {}

    def share(one: str) -> Fraction:
        if one not in shares:
            shares[one] = max(
                sum(
                    (output.share * (share(output.id) if output.to == "kind" else 1)
                     for output in style.outputs
                     if output.to == "kind" or (output.to == "cut" and output.id == cut)),
                    Fraction(0),
                )
                for style in kinds[one].styles
            )  # fmt: skip
        return shares[one]

    return share(kind)
