"""Prices on the shop's endings, without losing the target.

All prices here are whole minor units of the currency (cents), all endings too.

1. Go from the heaviest selling weight to the lightest. Each cut takes the ending nearest to its
   exact price, shifted by what the cuts before it brought too little or too much; the lightest
   takes the ending that just makes the target. So the sales are never under it, and over it by
   less than one step on the lightest cut.
2. With weights of very unlike size that may push a light cut far from its exact price. If one
   would move by more than one step or 5 %, whichever is more, endings are searched that keep every
   cut within its bound and meet the same target: first among the two neighbours of each exact
   price, then within 5, 10 and 20 %. If none is found, 1. stands as long as it moves no price by
   more than half; else the surplus gives way, and the endings within one step or 5 % that bring
   least over the target are taken.
3. A price never passes its floor, its cap or the lowest ending. Where those leave no room, prices
   go up one ending at a time until the target is made or no price can rise.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor, lcm

__all__ = ["NEAR", "Grid", "Spot", "carried", "on_endings", "step_on_smallest"]

#: How far a price may move from its exact one without need, as a part of it.
NEAR = Fraction(1, 20)
_WIDER = (Fraction(1, 20), Fraction(1, 10), Fraction(1, 5))
# keeps the search under a few milliseconds: two halves of at most this many sums
_MOST_SUMS = 256
_MOST_OPTIONS = 16
_TRIES = 3
_FURTHEST = Fraction(1, 2)


@dataclass(frozen=True, slots=True)
class Grid:
    """The prices a shop may write: `ends` repeated every `period` [minor units].

    Examples
    --------
    >>> nines = Grid(100, (29, 49, 99))
    >>> nines.up(830), nines.down(830), nines.gap
    (849, 829, 50)
    """

    period: int
    ends: tuple[int, ...] = (0,)

    def up(self, price: int) -> int:
        """Return the lowest ending that is not under `price` and above zero."""
        price = max(price, 1)
        if len(self.ends) == 1:
            return price + (self.ends[0] - price) % self.period
        whole, rest = divmod(price, self.period)
        at = bisect_left(self.ends, rest)
        if at < len(self.ends):
            return whole * self.period + self.ends[at]
        return (whole + 1) * self.period + self.ends[0]

    def down(self, price: int) -> int:
        """Return the highest ending that is not over `price`; zero or less if there is none."""
        whole, rest = divmod(price, self.period)
        at = bisect_left(self.ends, rest + 1)
        if at:
            return whole * self.period + self.ends[at - 1]
        return (whole - 1) * self.period + self.ends[-1]

    @property
    def gap(self) -> int:
        """Return the largest step between neighbouring endings [minor units]."""
        steps = [high - low for low, high in pairwise(self.ends)]
        return max([*steps, self.period - self.ends[-1] + self.ends[0]])


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """A price to be put on an ending.

    Parameters
    ----------
    key : str
        Settles the order of equal weights, so that the order of the cuts does not matter.
    exact : Fraction
        Exact price [minor units per unit of weight].
    sells : Fraction
        Selling weight [unit].
    low, high : int or None
        Lowest and highest ending allowed; `low` <= `high`.
    free : bool
        Whether neither floor nor cap holds the exact price.
    """

    key: str
    exact: Fraction
    sells: Fraction
    low: int
    high: int | None = None
    free: bool = True

    def within(self, price: int) -> int:
        """Return the ending moved between the lowest and the highest allowed."""
        price = max(price, self.low)
        return price if self.high is None else min(price, self.high)

    def bound(self, gap: int, part: Fraction = NEAR) -> Fraction:
        """Return how far the price should stay within its exact one [minor units]."""
        return max(Fraction(gap), part * self.exact)


def step_on_smallest(spots: Sequence[Spot], grid: Grid) -> Fraction | None:
    """Return the largest step times the smallest free selling weight; None without free cuts."""
    free = [spot.sells for spot in spots if spot.free]
    return grid.gap * min(free) if free else None


def carried(spots: Sequence[Spot], grid: Grid) -> list[int]:
    """Round from the first to the last, carrying the error along; the last makes the target.

    With spots sorted from heavy to light, ``gap`` the largest step and s the selling weights, a
    price moves by at most gap/2 x (1 + s[i-1] / s[i]) from its exact one, for after each cut no
    more than gap/2 x s[i-1] is carried; the last moves by less than gap/2 x s[i-1] / s[i] + gap.
    This holds while no price meets its lowest or highest ending.

    Parameters
    ----------
    spots : sequence of Spot
        From the heaviest to the lightest.
    grid : Grid
        The endings.

    Returns
    -------
    list of int
        Prices on endings [minor units], one for each spot.
    """
    found, owed = [], Fraction(0)
    for spot in spots[:-1]:
        aim = spot.exact + owed / spot.sells
        below = grid.down(floor(aim))
        above = grid.up(ceil(aim))
        price = spot.within(below if aim - below < above - aim else above)
        owed += (spot.exact - price) * spot.sells
        found.append(price)
    last = [spot.within(grid.up(ceil(spot.exact + owed / spot.sells))) for spot in spots[-1:]]
    return found + last


def on_endings(spots: Sequence[Spot], grid: Grid) -> list[int]:
    """Put exact prices on endings so that they bring no less together.

    Parameters
    ----------
    spots : sequence of Spot
        In any order.
    grid : Grid
        The endings.

    Returns
    -------
    list of int
        Prices [minor units], in the order of `spots`.
    """
    order = sorted(range(len(spots)), key=lambda at: (-spots[at].sells, spots[at].key))
    sorted_spots = [spots[at] for at in order]
    prices = _best(sorted_spots, grid)
    found = [0] * len(spots)
    for at, price in zip(order, prices, strict=True):
        found[at] = price
    return found


def _best(spots: list[Spot], grid: Grid) -> list[int]:
    prices = carried(spots, grid)
    limit = step_on_smallest(spots, grid)
    if limit is None:
        return _topped_up(spots, prices, grid)
    meets = 0 <= _over(spots, prices) < limit
    if meets and _near(spots, prices, grid.gap):
        return prices
    widening = _widening(spots, grid)
    for options in widening:
        found = _searched(spots, options, limit)
        if found is not None:
            return found
    if meets and _near(spots, prices, grid.gap, _FURTHEST):
        return prices
    found = _searched(spots, widening[1], None)
    return _topped_up(spots, prices, grid) if found is None else found


def _over(spots: Sequence[Spot], prices: Sequence[int]) -> Fraction:
    """Return what the prices bring more than the exact ones [minor units]."""
    pairs = zip(spots, prices, strict=True)
    return sum(((price - spot.exact) * spot.sells for spot, price in pairs), Fraction(0))


def _near(spots: Sequence[Spot], prices: Sequence[int], gap: int, part: Fraction = NEAR) -> bool:
    pairs = zip(spots, prices, strict=True)
    return all(abs(price - spot.exact) <= spot.bound(gap, part) for spot, price in pairs)


def _widening(spots: list[Spot], grid: Grid) -> list[list[list[int]]]:
    """Return the endings each cut may take: its two neighbours, then more and more around it."""
    neighbours = [
        sorted({spot.within(grid.down(floor(spot.exact))), spot.within(grid.up(ceil(spot.exact)))})
        for spot in spots
    ]
    # a short board may try more of them
    most = _MOST_SUMS if len(spots) <= 2 else _MOST_OPTIONS
    return [neighbours, *([_around(spot, grid, part, most) for spot in spots] for part in _WIDER)]


def _around(spot: Spot, grid: Grid, part: Fraction, most: int) -> list[int]:
    reach = min(spot.bound(grid.gap, part), Fraction(most // 2 * grid.gap))
    price = spot.within(grid.up(ceil(spot.exact - reach)))
    found = [price]
    while price <= spot.exact + reach:
        price = grid.up(price + 1)
        if price > spot.exact + reach or spot.within(price) != price:
            break
        found.append(price)
    # the nearest, if there are more than can be tried
    return sorted(sorted(found, key=lambda one: (abs(one - spot.exact), one))[:most])


def _searched(
    spots: list[Spot], options: list[list[int]], limit: Fraction | None
) -> list[int] | None:
    """Choose among the options of the lightest cuts; the heavier take the nearest, carried.

    Sums of one half of the light cuts are sorted, and for each sum of the other half those that
    complete the target are looked up. Of the boards over it by less than `limit` the one with the
    smallest shift is taken; without a limit, the one least over it.
    """
    first, middle = _halves(options)
    scale = lcm(*(spot.sells.denominator for spot in spots))
    weights = [int(spot.sells * scale) for spot in spots]
    heavy, owed = [], Fraction(0)
    for spot, can in zip(spots[:first], options[:first], strict=True):
        aim = spot.exact + owed / spot.sells
        price = min(can, key=lambda one: (abs(one - aim), one))
        owed += (spot.exact - price) * spot.sells
        heavy.append(price)
    light = sum((spot.exact * spot.sells for spot in spots[first:]), owed)
    want = ceil(light * scale)
    room = None if limit is None else int(limit * scale) - 1
    left = _sums(spots[first:middle], options[first:middle], weights[first:middle])
    right = sorted(_sums(spots[middle:], options[middle:], weights[middle:]))
    totals = [total for total, _, _ in right]
    best: tuple[float, float, tuple[int, ...]] | None = None
    for total, shift, chosen in left:
        at = bisect_left(totals, want - total)
        for other, far, rest in right[at : at + _TRIES]:
            over = total + other - want
            if room is not None and over > room:
                break
            both = (0 if room is not None else over, max(shift, far), (*chosen, *rest))
            best = both if best is None else min(best, both)
    return None if best is None else [*heavy, *best[2]]


def _halves(options: list[list[int]]) -> tuple[int, int]:
    """Return where the light cuts begin and where their second half does."""
    at, bounds = len(options), []
    for _ in range(2):
        sums = 1
        while at and sums * len(options[at - 1]) <= _MOST_SUMS:
            at -= 1
            sums *= len(options[at])
        bounds.append(at)
    return bounds[1], bounds[0]


def _sums(
    spots: Sequence[Spot], options: Sequence[Sequence[int]], weights: Sequence[int]
) -> list[tuple[int, float, tuple[int, ...]]]:
    """Return (money in scaled units, largest relative shift, prices) of every choice."""
    found: list[tuple[int, float, tuple[int, ...]]] = [(0, 0.0, ())]
    for spot, can, weight in zip(spots, options, weights, strict=True):
        exact = float(spot.exact) or 1.0
        each = [(price * weight, abs(price - exact) / exact, price) for price in can]
        found = [
            (total + money, max(shift, far), (*prices, price))
            for total, shift, prices in found
            for money, far, price in each
        ]
    return found


def _topped_up(spots: list[Spot], prices: list[int], grid: Grid) -> list[int]:
    """Raise prices until the target is made or every cap is met.

    The cut whose next ending just covers what is missing closes; while none does, the one with the
    largest step goes up as far as it is needed.
    """
    prices = list(prices)
    missing = -_over(spots, prices)
    while missing > 0:
        steps = []
        for at, spot in enumerate(spots):
            more = spot.within(grid.up(prices[at] + 1))
            if more > prices[at]:
                steps.append(((more - prices[at]) * spot.sells, at, more))
        if not steps:
            break
        enough = [step for step in steps if step[0] >= missing]
        _, at, more = min(enough) if enough else max(steps)
        most = spots[at].within(grid.down(floor(prices[at] + missing / spots[at].sells)))
        more = max(more, most)
        missing -= (more - prices[at]) * spots[at].sells
        prices[at] = more
    return prices
