"""Mark-down when the sale at a price is known: the price that earns most, in closed form.

For one period with demand D(p) = q0 (p/p0)^-e and e > 1, a unit of stock earns p (1 - 1/e) at the
margin, so with v paid elsewhere the best price is p* = v e/(e - 1); the stock clears at
p_c = p0 (Q/q0)^(-1/e).  The higher of the two is charged, within floor and cap.  What a period
earns is concave in what it sells (the cap makes a straight piece, the rest is a power under one),
so over several periods with the same demand one price throughout is best.  Uses elsewhere have
falling worth and are filled in that order, so the first at which selling on stops paying ends the
search: no step of it is approximate.

References
----------
.. [1] The price rule is a standard result, given from memory; it is checked in the tests by search.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction

from collop.chalk.markdown_curve import (
    Curve,
    allowed_near,
    curve_of,
    first_moved,
    worth_of_rest,
)
from collop.chalk.markdown_reading import Stock
from collop.errors import BadValue

__all__ = ["Settled", "as_it_is", "at_price", "clearing", "lengths", "settle"]


@dataclass(frozen=True, slots=True)
class Settled:
    """One price for all periods.

    Parameters
    ----------
    price : float
        Money per unit.
    sells : tuple of float, shape (periods,)
        Weight sold in each [unit].
    value : float
        Money from sales and from the best uses of the rest.
    """

    price: float
    sells: tuple[float, ...]
    value: float


def lengths(stock: Stock) -> tuple[float, ...]:
    """Return the length of each selling period, today's first."""
    if not stock.periods:
        return ()
    return (float(stock.first_share), *(1.0 for _ in range(stock.periods - 1)))


def settle(stock: Stock) -> Settled:
    """Return the best single price and what it sells.

    Parameters
    ----------
    stock : Stock
        With one period or more; `demand_cv` is not looked at.

    Raises
    ------
    BadValue
        If no allowed ending lies between floor and cap.
    """
    curve = curve_of(stock)
    sale = float(stock.stock) - _rest(stock, curve)
    price = curve.price_for(sale / sum(lengths(stock)))
    if stock.endings is None:
        return _sold(stock, price, sale)
    choices = _choices(stock, price)
    if stock.aim == "clear":
        lower = [one for one in choices if float(one) <= price]
        return at_price(stock, float(max(lower) if lower else min(choices)))
    return max((at_price(stock, float(one)) for one in sorted(choices, reverse=True)),
               key=lambda one: one.value)  # fmt: skip


def at_price(stock: Stock, price: float) -> Settled:
    """Return what one price sells; what is worth more elsewhere is not sold at it."""
    kept = float(stock.stock - first_moved(stock.ways, Fraction(price), stock.stock))
    asked = curve_of(stock).sold(price) * sum(lengths(stock))
    return _sold(stock, price, min(kept, asked))


def clearing(stock: Stock) -> Settled:
    """Return the price that sells all, as far as floor and cap let it."""
    curve, time = curve_of(stock), sum(lengths(stock))
    price = curve.price_for(float(stock.stock) / time)
    # at the price for all of it rounding must leave no crumb
    free = curve.floor < price
    asked = math.inf if free else curve.sold(price) * time
    return _sold(stock, price, min(float(stock.stock), asked))


def as_it_is(stock: Stock) -> float:
    """Return the money of leaving the price alone: the usual sale, and the rest is lost."""
    asked = float(stock.usual) * sum(lengths(stock))
    return float(stock.price) * min(float(stock.stock), asked)


def _rest(stock: Stock, curve: Curve) -> float:
    """Return the weight that earns more elsewhere, or is not asked for."""
    whole, before = float(stock.stock), 0.0
    for way in stock.ways:
        wish = whole - _sale_worth(stock, curve, float(way.value))
        if wish <= before:
            return min(before, whole)
        end = before + (math.inf if way.takes is None else float(way.takes))
        if wish <= end:
            return wish
        before = end
    return min(whole, max(before, whole - _sale_worth(stock, curve, 0.0)))


def _sale_worth(stock: Stock, curve: Curve, other: float) -> float:
    """Return how much to sell while a unit is worth `other` elsewhere."""
    if other > curve.cap:
        return 0.0
    elasticity = curve.elasticity
    if stock.aim == "clear":
        price = curve.within(other)
    elif elasticity <= 1:
        price = curve.cap  # a lower price sells more and still earns less
    else:
        price = curve.within(other * elasticity / (elasticity - 1))
    return curve.sold(price) * sum(lengths(stock))


def _choices(stock: Stock, price: float) -> set[Fraction]:
    """Return the allowed prices next to `price`; the present one may always stay."""
    found = {stock.price, *allowed_near(stock, Fraction(price))}
    # the bounds cut off a neighbour: then the nearest inside stands in for it
    for bound in (stock.floor, stock.cap):
        found.update(allowed_near(stock, bound))
    inside = {one for one in found if stock.floor <= one <= stock.cap}
    if not inside:
        raise BadValue(
            f"$.endings leave no price between {float(stock.floor):g} and {float(stock.cap):g}; "
            "widen floor and cap, or give more endings.",
            where="$.endings",
        )
    return inside


def _sold(stock: Stock, price: float, sale: float) -> Settled:
    """Sell `sale` at `price`, each period what is asked until it is gone."""
    times = lengths(stock)
    asked = max(curve_of(stock).sold(price), sale / sum(times))
    sells, left = [], sale
    for time in times:
        sells.append(min(left, asked * time))
        left = max(0.0, left - sells[-1])
    rest = max(Fraction(0), stock.stock - Fraction(sale))
    worth = sum((money for _, _, money in worth_of_rest(stock.ways, rest)), Fraction(0))
    return Settled(price, tuple(sells), price * sale + float(worth))
