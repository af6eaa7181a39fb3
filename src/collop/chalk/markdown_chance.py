"""Mark-down when the sale at a price is uncertain: backward recursion over what is left.

With t periods to come and Q left,

    V_t(Q) = max over p of  E[p min(D, Q) + V_{t-1}(Q - min(D, Q))],   V_0 = best other uses

Demand is gamma with mean D(p) and the standard deviation over mean that was given; part of a
period has that part of the gamma's shape, as for a stream of customers.  V is kept on an even grid
of stock and taken as straight between its points.  The expectation of a broken line is exact: it
is a sum of slopes times differences of E[min(D, a)], which for a gamma with shape k and scale s is

    E[min(D, a)] = k s P(k + 1, a/s) + a (1 - P(k, a/s)),   P the regularised incomplete gamma

so nothing is drawn at random and the same problem always gives the same answer.  What is left is
the error of the straight pieces; it falls with the square of their width.

References
----------
.. [1] The recursion is a standard result, given from memory, and so is the partial expectation of
   the gamma; the tests compare it with numerical integration.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.linalg import toeplitz
from scipy.special import gammainc, gammaincc

from collop.chalk.markdown_curve import (
    Curve,
    allowed_near,
    curve_of,
    first_moved,
    worth_of_rest,
)
from collop.chalk.markdown_reading import Stock, Way
from collop.chalk.markdown_settled import clearing, lengths, settle
from collop.errors import BadValue

__all__ = ["CELLS", "Chance", "chance", "expected_sale", "fixed_price_value", "recursion"]

Array = NDArray[np.float64]
Places = NDArray[np.intp]

#: Even pieces that the stock is divided into.
CELLS = 240
_PRICES = 240
_FINER = 21
_ZOOMS = 2
_BESIDE = 2
#: No price under the one that would clear this many times the stock in one period can be best.
_TIMES = 50


@dataclass(frozen=True, slots=True)
class Chance:
    """What to do, and what it is worth on average.

    Parameters
    ----------
    first : Fraction
        Weight that is worth more elsewhere than any price allowed, moved before selling.
    prices, sells : tuple of float, shape (periods,)
        Price of each period and what it sells on average, where the ones before sold their mean.
    value : float
        Mean money, that of `first` too.
    """

    first: Fraction
    prices: tuple[float, ...]
    sells: tuple[float, ...]
    value: float


def expected_sale(mean: Array, shape: float, most: Array) -> Array:
    """Return E[min(D, a)] of gamma demand.

    Parameters
    ----------
    mean : ndarray, shape (prices,)
        Mean demand [unit].
    shape : float
        Shape of the gamma: 1/cv^2.
    most : ndarray, shape (points,)
        Stock a [unit].

    Returns
    -------
    ndarray, shape (prices, points)
    """
    at = shape * most[None, :] / mean[:, None]
    found: Array = mean[:, None] * gammainc(shape + 1, at) + most[None, :] * gammaincc(shape, at)
    return found


def recursion(
    stock: Stock, prices: Array, start: Array, most: float
) -> tuple[list[Array], list[Places]]:
    """Return V_0 .. V_n on an even grid of stock, and the best price of each point.

    Parameters
    ----------
    stock : Stock
        The problem.
    prices : ndarray, shape (prices,)
        What may be charged.
    start : ndarray, shape (cells + 1,)
        V_0 on the grid from 0 to `most`.
    most : float
        Highest stock of the grid [unit], above zero.

    Returns
    -------
    (list of ndarray, list of ndarray of int)
        V by periods to come, from none; place in `prices` by periods to come, from one.
    """
    grid = np.linspace(0.0, most, len(start))
    values, best = [start], []
    sales = {time: _sale(stock, prices, time, grid) for time in set(lengths(stock))}
    for time in reversed(lengths(stock)):
        sale, width = sales[time], most / (len(start) - 1)
        slopes = np.diff(values[-1]) / width
        # point i: sum over j < i of slope[i-1-j] * step[j]
        lost = toeplitz(slopes, np.zeros_like(slopes)) @ np.diff(sale, axis=1).T
        money = sale * prices[:, None] + values[-1][None, :]
        money[:, 1:] -= lost.T
        values.append(money.max(axis=0))
        best.append(money.argmax(axis=0))
    return values, best


def chance(stock: Stock, *, cells: int = CELLS) -> Chance:
    """Return the best prices under uncertain demand.

    Parameters
    ----------
    stock : Stock
        With one period or more and `cv` above zero.
    cells : int
        Fineness of the grid.

    Raises
    ------
    BadValue
        If no allowed ending lies between floor and cap.
    """
    first = first_moved(stock.ways, stock.cap, stock.stock)
    gained = sum((money for _, _, money in worth_of_rest(stock.ways, first)), Fraction(0))
    most = float(stock.stock - first)
    if not most:
        still = tuple(0.0 for _ in range(stock.periods))
        return Chance(first, tuple(float(stock.cap) for _ in still), still, float(gained))
    prices = _prices(stock)
    start = _other_uses(_after(stock.ways, first), most, cells)
    values, best = recursion(stock, prices, start, most)
    fine = stock.endings is None and stock.aim == "most"
    path = list(_path(stock, prices, values, best, most, fine=fine))
    return Chance(first, tuple(p for p, _, _ in path), tuple(s for _, s, _ in path),
                  float(gained) + path[0][2])  # fmt: skip


def fixed_price_value(stock: Stock, price: float, *, keeps: bool, cells: int = CELLS) -> float:
    """Return the mean money of one price in every period.

    Parameters
    ----------
    stock : Stock
        The problem.
    price : float
        Money per unit.
    keeps : bool
        Whether what is left at the end goes to its best use; else it is lost.
    cells : int
        Fineness of the grid.
    """
    most = float(stock.stock)
    ways = stock.ways if keeps else ()
    start = _other_uses(ways, most, cells)
    values, _ = recursion(stock, np.array([price]), start, most)
    return float(values[-1][-1])


def _sale(stock: Stock, prices: Array, time: float, most: Array) -> Array:
    """Return E[min(D, a)] by price and stock for a period of length `time`."""
    curve = curve_of(stock)
    sold = np.array([curve.sold(float(price)) for price in prices])
    # beyond any stock more demand changes nothing; neither infinity nor zero has a gamma
    mean = np.clip(sold, 1e-12 * float(stock.stock), 1e9 * float(stock.stock))
    return expected_sale(mean * time, time / float(stock.cv) ** 2, most)


def _prices(stock: Stock) -> Array:
    """Return the prices to choose from, rising."""
    curve = curve_of(stock)
    if stock.aim == "clear":
        return np.array([settle(stock).price])
    spread = np.geomspace(_lowest(curve, float(stock.stock)), curve.cap, _PRICES)
    if stock.endings is None:
        present = [curve.price] if curve.floor <= curve.price <= curve.cap else []
        return np.unique(np.concatenate([spread, present, [clearing(stock).price or curve.cap]]))
    near = {one for price in spread for one in allowed_near(stock, Fraction(price))}
    near |= {stock.price, *allowed_near(stock, Fraction(settle(stock).price))}
    inside = sorted(float(one) for one in near if stock.floor <= one <= stock.cap)
    if not inside:
        raise BadValue(
            f"$.endings leave no price between {curve.floor:g} and {curve.cap:g}; widen floor and "
            "cap, or give more endings.",
            where="$.endings",
        )
    return np.array(inside)


def _lowest(curve: Curve, stock: float) -> float:
    low = max(curve.floor, curve.price_for(_TIMES * stock), 1e-9 * curve.cap)
    if curve.elasticity <= 1:  # a lower price earns less, so the low end is never reached
        low = max(low, 1e-3 * curve.cap)
    return min(low, curve.cap)


def _after(ways: Sequence[Way], first: Fraction) -> tuple[Way, ...]:
    """Return the ways with what `first` has used up taken off."""
    used = {way: goes for way, goes, _ in worth_of_rest(ways, first) if way is not None}
    return tuple(
        way if way.takes is None else
        Way(way.way, way.to, way.value, way.takes - used.get(way, Fraction(0)))
        for way in ways
    )  # fmt: skip


def _other_uses(ways: Sequence[Way], most: float, cells: int) -> Array:
    """Return V_0: what the best uses pay for each stock of the grid."""
    step = Fraction(most) / cells
    return np.array(
        [
            float(sum((money for _, _, money in worth_of_rest(ways, step * i)), Fraction(0)))
            for i in range(cells + 1)
        ]
    )


def _path(
    stock: Stock,
    prices: Array,
    values: list[Array],
    best: list[Places],
    most: float,
    *,
    fine: bool,
) -> Iterator[tuple[float, float, float]]:
    """Yield (price, mean sale, value from here) of each period, where each sells its mean."""
    cells, left = len(values[0]) - 1, most
    grid = np.linspace(0.0, most, cells + 1)
    times = lengths(stock)
    for index, time in enumerate(times):
        after = (grid, values[len(times) - 1 - index])
        # the nearest point of the grid tells about where the best price is
        point = round(left / most * cells)
        near = int(best[len(times) - 1 - index][point])
        choices = prices[max(0, near - _BESIDE) : near + _BESIDE + 1]
        money, sale = _money(stock, choices, time, left, after)
        for _ in range(_ZOOMS if fine else 0):
            at = int(money.argmax())
            low, high = choices[max(0, at - 1)], choices[min(len(choices) - 1, at + 1)]
            choices = np.unique(np.append(np.linspace(low, high, _FINER), choices[at]))
            money, sale = _money(stock, choices, time, left, after)
        at = int(money.argmax())
        yield float(choices[at]), float(sale[at]), float(money[at])
        left = max(0.0, left - float(sale[at]))


def _money(
    stock: Stock, prices: Array, time: float, left: float, after: tuple[Array, Array]
) -> tuple[Array, Array]:
    """Return mean money from here, and mean sale, of each price with `left` in stock."""
    grid, values = after
    if left <= 0:
        nothing: Any = np.zeros_like(prices)
        return nothing + values[0], nothing
    knots = np.append(left - grid[grid < left][::-1], left)
    if knots[0] > 0:
        knots = np.insert(knots, 0, 0.0)
    knots = np.unique(knots)
    worth = np.interp(left - knots, grid, values)
    sale = _sale(stock, prices, time, knots)
    slopes = np.diff(worth) / np.diff(knots)
    money = prices * sale[:, -1] + worth[0] + np.diff(sale, axis=1) @ slopes
    return money, sale[:, -1]
