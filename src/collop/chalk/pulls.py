"""What the other cuts must do if one price moves.

Moving cut j by d changes the sales by d x s_j (s: selling weight). Then either one other free cut
i answers alone, by d s_j / s_i; or all of them together, in the ratio r of their prices, by
d s_j r_i / (sum of r s over the others); or more of j must sell at its new price. Rises are rounded
up so that they pay for the move: alone to the shop's next ending, together to the minor unit.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor, inf, lcm
from operator import itemgetter
from typing import Any

from collop.chalk.endings import Grid
from collop.chalk.equation import Solved, held, solve_base
from collop.chalk.equation_board import Asked, BoardCut
from collop.chalk.equation_words import Texts

__all__ = ["Pulling", "together"]


def together(
    others: Sequence[BoardCut], solved: Solved, prices: Sequence[Fraction], lost: Fraction
) -> list[Fraction] | None:
    """Return by how much the other free cuts must rise together to bring what was lost.

    Parameters
    ----------
    others : sequence of BoardCut
        The free cuts without the one that moves.
    solved : Solved
        The board before the move; its base is where they start.
    prices : sequence of Fraction, shape (others,)
        Their exact prices [money/unit].
    lost : Fraction
        What they must bring more; negative where they may bring less [money].

    Returns
    -------
    list of Fraction or None
        Rises [money/unit]; None if their caps (or floors) leave no such board.
    """
    if solved.base is None or not others:
        return None
    want = sum((p * cut.sells for cut, p in zip(others, prices, strict=True)), lost)
    base, reached = solve_base(others, want)
    # base zero: the floors alone bring more than is wanted
    if not reached or base <= 0:
        return None
    return [held(cut, base)[0] - price for cut, price in zip(others, prices, strict=True)]


@dataclass(frozen=True, slots=True)
class _Free:
    """A free cut in whole numbers: price and its limits [minor units], weight and relative scaled.

    `order` is its place among all cuts.
    """

    order: int
    cut: BoardCut
    price: int
    low: int
    high: float
    sells: int
    relative: int


class Pulling:
    """Answers for one board, worked out in whole numbers so that a long board stays quick.

    Parameters
    ----------
    cuts : sequence of BoardCut
        All cuts.
    solved : Solved
        Their exact prices.
    prices : sequence of Fraction, shape (cuts,)
        Prices on endings [money/unit].
    grid : Grid
        The shop's endings.
    texts : Texts
        How amounts are written.
    unit : str
        The unit of weight, for the sentence.
    """

    def __init__(
        self,
        cuts: Sequence[BoardCut],
        solved: Solved,
        prices: Sequence[Fraction],
        grid: Grid,
        texts: Texts,
        *,
        unit: str = "lb",
    ) -> None:
        self._cuts, self._solved, self._prices = cuts, solved, prices
        self._grid, self._texts, self._unit = grid, texts, unit
        self._scale = lcm(*(cut.sells.denominator for cut in cuts))
        self._parts = lcm(*(cut.relative.denominator for cut in cuts))
        self._at = {cut.cut_id: index for index, cut in enumerate(cuts)}
        free = [
            self._whole(index, cut)
            for index, cut in enumerate(cuts)
            if cut.fixed is None and cut.answers
        ]
        # strongest first: a heavy cut earns what was lost by the smallest rise
        self._free = sorted(free, key=lambda one: (-one.sells, one.cut.cut_id))
        self._numbers = [
            (one.cut.cut_id, one.cut.name, one.price, one.sells, one.low, one.high)
            for one in self._free
        ]
        self._bounded = [one for one in free if one.cut.floor or one.cut.cap is not None]

    def _whole(self, index: int, cut: BoardCut) -> _Free:
        units = self._texts.units
        return _Free(
            order=index,
            cut=cut,
            price=int(self._prices[index] * units),
            low=max(ceil(cut.floor * units), 0),
            high=inf if cut.cap is None else floor(cut.cap * units),
            sells=int(cut.sells * self._scale),
            relative=int(cut.relative * self._parts),
        )

    def answer(self, asked: Asked) -> dict[str, Any]:
        """Return the plan of one pull: what is lost, and the ways to earn it."""
        at = self._at[asked.cut_id]
        cut, price, texts = self._cuts[at], self._prices[at] * self._texts.units, self._texts
        # a price does not go under zero
        by = max(asked.by, -floor(price))
        lost = -by * int(cut.sells * self._scale)
        to = price + by
        more = None if not to else -by * cut.sells / to
        # all of what sells is counted as sold already, so only what shrinks could be sold more of
        is_there = more is not None and more <= cut.weight - cut.sells
        alone = self._alone(cut, lost) if by else []
        if more is None:
            say = "would be given away: nothing of it earns"
        elif not by:
            say = "is as low as it goes"
        else:
            say = f"{'up' if by > 0 else 'down'} {texts.minor(abs(by))}: "
            say += self._ways(alone, more)
        return {
            "id": cut.cut_id,
            "by": texts.minor(by),
            "to": texts.price(to / texts.units),
            "loses": texts.money(Fraction(lost, self._scale * texts.units)),
            "alone": alone,
            "together": self._together(cut, lost) if by else [],
            "more_weight": None if more is None else texts.weight(more, 3),
            "more_is_there": is_there,
            "say": f"{cut.name} {say}",
        }

    def _ways(self, alone: list[dict[str, Any]], more: Fraction) -> str:
        """Return who answers best and how much must sell, in words."""
        falls = more < 0
        weight = self._texts.weight(abs(more), 1 if abs(more) >= 1 else 2)
        last = f"{weight} {self._unit} " + ("less need sell" if falls else "more must sell")
        if not alone:
            return last
        best = alone[0]
        move = f"may come down {best['up'].lstrip('-')}" if falls else f"up {best['up']}"
        return f"{best['name']} {move}, or {last}"

    def _alone(self, moved: BoardCut, lost: int) -> list[dict[str, Any]]:
        up, write = self._grid.up, self._texts.minor
        cut_id = moved.cut_id
        found = []
        for key, name, price, sells, low, high in self._numbers:
            then = up(price - (-lost // sells))
            # a rise stays under the cap; a fall is one, and stays above the floor
            allowed = then <= high and (lost > 0 or low <= then < price)
            if allowed and key != cut_id:
                found.append((then - price, key, name))
        # weights already run from heavy to light; endings may disturb that a little
        found.sort(key=itemgetter(0), reverse=lost < 0)
        return [{"id": key, "name": name, "up": write(move)} for move, key, name in found]

    def _together(self, moved: BoardCut, lost: int) -> list[dict[str, Any]]:
        base, whys = self._solved.base, self._solved.whys
        others = [one for one in self._free if one.cut is not moved]
        rising = [one for one in others if whys[one.order] == "free"]
        spread = sum(one.relative * one.sells for one in rising)
        if base is None:
            return []
        units, write = self._texts.units, self._texts.minor
        # the base rises by lost / (sum of r s), in money a unit of relative
        rise = Fraction(lost * self._parts, spread * units) if spread else Fraction(0)
        if not spread or not self._stays(moved, base + rise):
            return self._resolved(others, Fraction(lost, self._scale * units))
        top, bottom = rise.numerator * units, rise.denominator * self._parts
        return [
            {"id": one.cut.cut_id, "up": write(-(-one.relative * top // bottom))} for one in rising
        ]

    def _stays(self, moved: BoardCut, base: Fraction) -> bool:
        """Tell whether no floor or cap takes hold or lets go at this base."""
        whys = self._solved.whys
        return base > 0 and all(
            held(one.cut, base)[1] == whys[one.order]
            for one in self._bounded
            if one.cut is not moved
        )

    def _resolved(self, others: list[_Free], lost: Fraction) -> list[dict[str, Any]]:
        """Solve the equation anew where a floor or cap changes who moves."""
        cuts = [one.cut for one in others]
        rises = together(cuts, self._solved, [self._solved.prices[one.order] for one in others],
                         lost)  # fmt: skip
        if rises is None:
            return []
        units, write = self._texts.units, self._texts.minor
        return [
            {"id": cut.cut_id, "up": write(ceil(rise * units))}
            for cut, rise in zip(cuts, rises, strict=True)
            if rise
        ]
