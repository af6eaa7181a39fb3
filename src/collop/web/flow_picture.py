"""A flow as a picture: its places, how much weight each carries, and what kind of place it is."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING, Any

from collop.measures import Weight, WeightUnit, decimal_of
from collop.words import said

if TYPE_CHECKING:
    from collop.shop import Flow

__all__ = ["LOST_TO_AIR", "Node", "Picture", "picture_of"]

LOST_TO_AIR = "lost to air"
#: What is lost, and the pattern it is drawn with.
_LOSSES = {LOST_TO_AIR: "air", "loss and drip": "drip", "bin": "bin"}
_SOLD = "sold"


@dataclass(frozen=True, slots=True)
class Node:
    """A place or part of the picture.

    Parameters
    ----------
    name : str
        As the shop names it.
    kind : str
        ``start``, ``part``, ``end``, or the pattern of a loss: ``air``, ``drip``, ``bin``.
    weight : Weight
        What went through it: the larger of what came in and what left.
    share_pct : str
        Of all that entered the picture, one decimal.
    """

    name: str
    kind: str
    weight: Weight
    share_pct: str

    @property
    def is_loss(self) -> bool:
        """Tell whether the weight here is lost."""
        return self.kind in _LOSSES.values()


@dataclass(frozen=True, slots=True)
class Picture:
    """All nodes of a flow in the order they are met, and the flow itself."""

    flow: Flow
    nodes: tuple[Node, ...]
    total: Weight

    def share(self, weight: Weight) -> str:
        """Return a weight's share of all that entered, in per cent with one decimal."""
        return _share(weight.count, self.total.count)

    @property
    def losses(self) -> tuple[Node, ...]:
        """Return what was lost, by how."""
        return tuple(node for node in self.nodes if node.is_loss)

    @property
    def sold(self) -> Weight:
        """Return what was sold."""
        return _sum(node for node in self.nodes if node.name == _SOLD)

    @property
    def lost(self) -> Weight:
        """Return all that was lost."""
        return _sum(self.losses)

    @property
    def kept(self) -> Weight:
        """Return what is neither sold nor lost."""
        return self.total - self.sold - self.lost

    def drawn(self, text: Callable[[Weight], str]) -> dict[str, Any]:
        """Return what the script draws: nodes and links, each with the words to show.

        Parameters
        ----------
        text : callable
            How the device writes a weight.
        """
        places = {node.name: place for place, node in enumerate(self.nodes)}
        return {
            "nodes": [
                {"name": said(node.name), "kind": node.kind, "pounds": _pounds(node.weight),
                 "says": f"{text(node.weight)}, {node.share_pct} %"}
                for node in self.nodes
            ],
            "links": [
                {"source": places[link.source], "target": places[link.target],
                 "value": _pounds(link.weight),
                 "says": f"{link.source} to {link.target}: {text(link.weight)}"}
                for link in self.flow.links
            ],
        }  # fmt: skip


def _pounds(weight: Weight) -> float:
    """Return a weight as the width of a ribbon; the figure shown is the exact one."""
    return float(weight.decimal(WeightUnit.LB, 4))


def _share(count: int, total: int) -> str:
    return f"{decimal_of(Fraction(count * 100, total), 1):f}" if total else "0.0"


def _sum(nodes: Iterable[Node]) -> Weight:
    return Weight(sum(node.weight.count for node in nodes), WeightUnit.LB)


def picture_of(flow: Flow) -> Picture:
    """Return the picture of a flow.

    Shares are of what enters: the sum of the nodes that nothing flows into. For one animal that is
    its own weight; for a day it is what came in and what was moved from where it lay.
    """
    into: Counter[str] = Counter()
    out: Counter[str] = Counter()
    for link in flow.links:
        out[link.source] += link.weight.count
        into[link.target] += link.weight.count
    names = dict.fromkeys(name for link in flow.links for name in (link.source, link.target))
    through = {name: max(into[name], out[name]) for name in names}
    # what leaves a node beyond what came into it lay there before
    total = sum(max(0, out[name] - into[name]) for name in names)
    nodes = tuple(
        Node(
            name=name,
            kind=_kind(name, is_start=not into[name], is_end=not out[name]),
            weight=Weight(through[name], WeightUnit.LB),
            share_pct=_share(through[name], total),
        )
        for name in names
    )
    return Picture(flow, nodes, Weight(total, WeightUnit.LB))


def _kind(name: str, *, is_start: bool, is_end: bool) -> str:
    if is_end:
        return _LOSSES.get(name, "end")
    return "start" if is_start else "part"
