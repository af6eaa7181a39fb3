"""What a lot is made of: shares of its weight by where that came from, through all that was mixed.

A lot that was made of several carries each of them by what its links brought in. No database here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from fractions import Fraction
from graphlib import CycleError, TopologicalSorter

__all__ = ["MadeOf", "apportion"]


def apportion(total: int, shares: Sequence[Fraction | int]) -> list[int]:
    """Split `total` by `shares` into whole numbers that add up to it: largest rest first.

    Shares need not sum to one; if they sum to nothing, the last one takes all.

    Examples
    --------
    >>> apportion(100, [1, 1, 1])
    [34, 33, 33]
    """
    whole = sum(shares, Fraction(0))
    if not shares:
        return []
    if not whole:
        return [0] * (len(shares) - 1) + [total]
    exact = [Fraction(total) * share / whole for share in shares]
    floors = [one.numerator // one.denominator for one in exact]
    order = sorted(range(len(exact)), key=lambda at: (floors[at] - exact[at], at))
    for at in order[: total - sum(floors)]:
        floors[at] += 1
    return floors


class MadeOf:
    """Shares of lots by the roots they came from.

    Parameters
    ----------
    roots : mapping of str to str
        What each lot that is told apart is called: a part, an animal. What it was cut from is not
        looked at.
    into : mapping of str to mapping of str to int
        What came into each other lot, in counts, net, by the lot it came from.
    """

    def __init__(self, roots: Mapping[str, str], into: Mapping[str, Mapping[str, int]]) -> None:
        self._told: dict[str, dict[str, Fraction]] = {
            lot: {name: Fraction(1)} for lot, name in roots.items()
        }
        above = {lot: _given(links) for lot, links in into.items() if lot not in roots}
        try:
            order = list(TopologicalSorter(above).static_order())
        except CycleError:  # the ledger's check names it; nothing can be told of such lots
            order = []
        for lot in order:
            if lot not in self._told:
                self._told[lot] = self._mixed(above.get(lot, {}))

    def _mixed(self, links: Mapping[str, int]) -> dict[str, Fraction]:
        whole = sum(links.values())
        found: dict[str, Fraction] = defaultdict(Fraction)
        for parent, count in links.items():
            for name, share in self._told.get(parent, {}).items():
                found[name] += share * count / whole
        return dict(found)

    def of(self, lot_id: str) -> Mapping[str, Fraction]:
        """Return the shares of a lot by root; together one, or less if other meat is in it."""
        return self._told.get(lot_id, {})


def _given(links: Mapping[str, int]) -> dict[str, int]:
    return {parent: count for parent, count in links.items() if count > 0}
